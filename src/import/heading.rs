//! What a head says: which field its column is, in which unit, and as which acid an acidity is given.

use std::collections::HashMap;

use super::fields::{Field, Table};
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::material::plain;

/// Words for a number in a head, and small words between others: they say nothing.
const SMALL: [&str; 19] = [
    "n", "no", "nr", "num", "number", "numero", "nummer", "id", "ref", "of", "the", "de", "d", "du", "des", "del",
    "di", "la", "le",
];

/// Units as they stand in a head, plainly.
const UNITS: [&str; 44] = [
    "l", "litre", "litres", "liter", "liters", "litros", "litri", "hl", "gal", "gallons", "ml", "cl", "months", "mois",
    "meses", "mesi", "monate", "year", "gl", "mgl", "ghl", "µgl", "μgl", "ugl", "ngl", "gl1", "mgl1", "µgl1", "mg",
    "g", "ppm", "ppb", "meql", "mvall", "vol", "volpct", "pctvol", "pct", "ntu", "fnu", "c", "celsius", "units",
    "unites",
];
/// Acids by which an acidity is given, plainly.
const TARTARIC: [&str; 9] =
    ["tartaric", "tartrique", "tartarique", "tartarico", "tartarica", "weinsaure", "tart", "c4h6o6", "tartariq"];
const SULFURIC: [&str; 9] = [
    "h2so4",
    "sulfuric",
    "sulfurique",
    "sulfurico",
    "solforico",
    "solforica",
    "schwefelsaure",
    "sulfurica",
    "sulfuriq",
];
const ACETIC: [&str; 8] = ["acetic", "acetique", "acetico", "acetica", "essigsaure", "ch3cooh", "acet", "acetiq"];
/// What joins them to the name.
const JOINTS: [&str; 24] = [
    "as",
    "en",
    "in",
    "als",
    "como",
    "come",
    "of",
    "de",
    "di",
    "d",
    "acid",
    "acide",
    "acido",
    "ac",
    "expressed",
    "exprime",
    "exprimee",
    "expresada",
    "expresado",
    "espressa",
    "berechnet",
    "ber",
    "eq",
    "equivalent",
];

/// A head taken apart.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heading {
    /// The name; empty where nothing stands there.
    pub name: String,
    /// What stands beside it, a unit or an acid.
    pub beside: Option<String>,
    /// The whole of it.
    pub whole: String,
}

/// What the fields of a table are called, plainly.
#[derive(Debug)]
pub struct Names {
    by_word: HashMap<String, &'static Field>,
}

impl Names {
    /// Those of a table.
    #[must_use]
    pub fn of(table: &'static Table) -> Names {
        let words =
            |field: &'static Field| field.words.iter().chain([&field.name]).map(move |word| (plain(word), field));
        // Until it is known what stands below such a head it is that of numbers.
        let field = |name: &str| table.fields.iter().find(|field| field.name == name);
        let either = table.either.iter().filter_map(|it| Some((it, field(it.of_numbers)?)));
        let either = either.flat_map(|(it, field)| it.words.iter().map(move |word| (plain(word), field)));
        Names { by_word: either.chain(table.fields.iter().flat_map(words)).collect() }
    }

    /// The field of a name; small words in it say nothing.
    #[must_use]
    pub fn field(&self, name: &str) -> Option<&'static Field> {
        // `Nº` ends with a letter to a computer.
        let words = name.split(|sign: char| !sign.is_alphanumeric() || matches!(sign, 'º' | 'ª')).map(plain);
        let bare: String = words.filter(|word| !SMALL.contains(&word.as_str())).collect();
        [plain(name), bare].iter().find_map(|name| self.by_word.get(name).copied())
    }

    /// A head with the longest name in it that is known; where none is, without a unit behind it.
    #[must_use]
    pub fn heading(&self, text: &str) -> Heading {
        let whole = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let known = readings(&whole).find(|(name, _)| self.field(name).is_some());
        let (name, beside) = known.or_else(|| bare(&whole)).unwrap_or_default();
        Heading { name, beside: (!beside.is_empty()).then_some(beside), whole }
    }
}

/// A head whose name nobody knows, without the unit or the remark behind it.
fn bare(whole: &str) -> Option<(String, String)> {
    match whole.split_once(['(', '[']) {
        Some((name, beside)) if !name.is_empty() => {
            let beside = beside.trim_end_matches([')', ']']);
            Some((name.trim().to_owned(), if is_units(beside) { beside.to_owned() } else { String::new() }))
        }
        _ => readings(whole).last(),
    }
}

impl AcidUnit {
    /// What is said of it beside a head or a number.
    #[must_use]
    pub fn said(beside: &str) -> Option<AcidUnit> {
        parts(beside).find_map(|part| {
            let part = plain(part);
            let is_in = |words: &[&str]| words.contains(&part.as_str());
            match () {
                () if is_in(&TARTARIC) => Some(AcidUnit::Tartaric),
                () if is_in(&SULFURIC) => Some(AcidUnit::Sulfuric),
                () if is_in(&ACETIC) => Some(AcidUnit::Acetic),
                () => None,
            }
        })
    }
}

/// A head as it can be taken apart: the longest name first, each with what would stand beside it.
pub fn readings(head: &str) -> impl Iterator<Item = (String, String)> {
    let parts: Vec<&str> = parts(head).collect();
    let mut begin = parts.len();
    while begin > 1 && is_beside(parts[begin - 1]) {
        begin -= 1;
    }
    let apart: Vec<(String, String)> =
        (begin.max(1)..=parts.len()).rev().map(|end| (joined(&parts, ..end), joined(&parts, end..))).collect();
    // What stands in brackets may be a remark.
    let before = head.split_once(['(', '[']).map(|(before, _)| before.trim().to_owned());
    let before = before.filter(|before| !before.is_empty()).map(|before| (before, String::new()));
    apart.into_iter().filter(|(name, _)| !name.is_empty()).chain(before)
}

/// The unit beside a head or a number, plainly, without what joins it; none where there is none.
#[must_use]
pub fn unit_in(beside: &str) -> Option<String> {
    let is_acid = |part: &str| AcidUnit::said(part).is_some() || JOINTS.contains(&plain(part).as_str());
    let unit: String = parts(beside).filter(|part| !is_acid(part)).map(plain).collect();
    (!unit.is_empty()).then_some(unit)
}

/// Whether words are nothing but units, or a dash for none.
#[must_use]
pub fn is_units(words: &str) -> bool {
    parts(words).all(is_beside)
}

fn parts(text: &str) -> impl Iterator<Item = &str> {
    let parts =
        text.split(|sign: char| sign.is_whitespace() || matches!(sign, '(' | ')' | '[' | ']' | ',' | ';' | ':'));
    parts.filter(|part| !part.is_empty())
}

fn joined<'p>(parts: &[&'p str], range: impl std::slice::SliceIndex<[&'p str], Output = [&'p str]>) -> String {
    parts.get(range).map(|parts| parts.join(" ")).unwrap_or_default()
}

fn is_beside(part: &str) -> bool {
    let part = plain(part);
    let part = part.as_str();
    part.is_empty() || UNITS.contains(&part) || JOINTS.contains(&part) || AcidUnit::said(part).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_head_is_taken_apart_from_behind() {
        let apart = |head: &str| readings(head).map(|(name, beside)| format!("{name}|{beside}")).collect::<Vec<_>>();
        assert_eq!(apart("SO2 L"), ["SO2 L|", "SO2|L"]);
        assert_eq!(
            apart("Acidité totale (g/L H2SO4)"),
            ["Acidité totale g/L H2SO4|", "Acidité totale g/L|H2SO4", "Acidité totale|g/L H2SO4", "Acidité totale|"]
        );
        assert_eq!(apart("Tartaric acid, g/L"), ["Tartaric acid g/L|", "Tartaric acid|g/L", "Tartaric|acid g/L"]);
        assert_eq!(apart("Capacity (nominal)"), ["Capacity nominal|", "Capacity|"]);
        assert_eq!(apart("%vol"), ["%vol|"]);
        assert_eq!(apart(" "), Vec::<String>::new());
    }

    #[test]
    fn what_stands_beside_is_a_unit_and_an_acid() {
        assert_eq!(unit_in("g/L H2SO4").as_deref(), Some("gl"));
        assert_eq!(unit_in("en H2SO4"), None);
        assert_eq!(AcidUnit::said("g/L H₂SO₄"), Some(AcidUnit::Sulfuric));
        assert_eq!(AcidUnit::said("as tartaric"), Some(AcidUnit::Tartaric));
        assert_eq!(AcidUnit::said("mg/L"), None);
    }
}
