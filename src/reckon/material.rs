//! What is added to wine, by all the names that cellars write: of which class it is, and how much sulfur dioxide it gives.
//!
//! One list for all who ask: a dose, a fining, a checklist, an organic claim, the slip of a hand. Beside the names stand what is
//! published of each: figures by rule set with section and edition ([`figure`]), usual doses, what it may leave on the label, what it
//! asks of the hand, and whether the organic lists hold it ([`about`]). Shares of sulfur dioxide: potassium metabisulfite
//! 57.6 % (the trade's figure; 57.63 by its atoms; the pharmacopoeia takes 51.8 to 57.6, for old powder gives less),
//! the others by their atoms. The names are those of the trade in English, French, German, Italian, Spanish and Portuguese.
//!
//! **What is published of a material** stands beside its names in `assets/materials.json`: figures by rule set, section and edition
//! (without an edition: unverified), what they count (`counts_as`: copper of both its salts), for which wines, allergen, caution, the
//! organic lists. `Known::held_against` holds amounts against them; nothing else knows a figure.

pub mod about;
pub mod figure;

use std::sync::LazyLock;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

pub use self::about::{Allergen, Caution, Listed, ORGANIC_EU, ORGANIC_US, USUAL_SOURCE};
use self::about::{CountsAs, Usual};
pub use self::figure::{
    Counted, FOR_INFORMATION, Figure, Held, Standing, WATER_FIGURE, WATER_SECTION, WineColour, Wines,
};

/// What something is added for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// It gives sulfur dioxide.
    #[serde(rename = "so2")]
    SulfurDioxide,
    /// It settles and takes something with it.
    Fining,
    /// It makes the wine sourer.
    Acid,
    /// It makes the wine less sour.
    Deacidifying,
    /// It feeds yeast or bacteria.
    Nutrient,
    /// Tannin.
    Tannin,
    /// Anything else.
    Other,
}

impl Class {
    /// All.
    pub const ALL: [Class; 7] = [
        Class::SulfurDioxide,
        Class::Fining,
        Class::Acid,
        Class::Deacidifying,
        Class::Nutrient,
        Class::Tannin,
        Class::Other,
    ];

    /// Its word in a fact and on the command line.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Class::SulfurDioxide => "so2",
            Class::Fining => "fining",
            Class::Acid => "acid",
            Class::Deacidifying => "deacidifying",
            Class::Nutrient => "nutrient",
            Class::Tannin => "tannin",
            Class::Other => "other",
        }
    }

    /// What it is in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Class::SulfurDioxide => "sulfur dioxide",
            Class::Fining => "a fining agent",
            Class::Acid => "an acid",
            Class::Deacidifying => "for deacidifying",
            Class::Nutrient => "a nutrient",
            Class::Tannin => "a tannin",
            Class::Other => "something else",
        }
    }
}

/// A material of the trade.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// What it is called.
    pub name: String,
    /// What it is added for.
    pub class: Class,
    /// The sulfur dioxide that it gives, % of its mass; none of what gives none, or gives as its label says.
    #[serde(default)]
    so2_pct: Option<f64>,
    /// The same from and to, where it gives more or less.
    #[serde(default)]
    so2_span_pct: Option<(f64, f64)>,
    /// What its figures count of it, where that is a part of it.
    #[serde(default)]
    counts_as: Option<CountsAs>,
    /// The usual doses.
    #[serde(default)]
    usual: Option<Usual>,
    /// What is published of how much of it.
    #[serde(default)]
    figures: Vec<Figure>,
    #[serde(default)]
    allergen: Option<Allergen>,
    #[serde(default)]
    in_water: bool,
    #[serde(default)]
    weighed: bool,
    #[serde(default)]
    dissolves_g_l: Option<f64>,
    #[serde(default)]
    caution: Option<Caution>,
    #[serde(default)]
    organic_eu: Listed,
    #[serde(default)]
    organic_us: Listed,
    #[serde(default)]
    note: Option<String>,
    /// Other names that cellars write.
    also: Vec<String>,
}

/// A material as a word names it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Named {
    /// The material.
    pub known: &'static Known,
    /// The sulfur dioxide that it gives, parts of a million of its mass: the word may say the strength, `SO2 6 %`.
    pub so2_ppm: Option<u32>,
}

/// What is sold by its own strength in water: a strength beside any other name may be that of a salt.
const STRENGTH_IS_OF_THE_GAS: [&str; 2] = ["sulfur dioxide", SOLUTION];
/// Sulfur dioxide in water.
const SOLUTION: &str = "sulfur dioxide solution";
/// A salt of it in water.
const SALT_SOLUTION: &str = "sulfite solution";

/// The strengths of sulfur dioxide in water that are believed, %: 5 and 6 are sold, what a bisulfite gives goes to 18.
const SOLUTION_PCT: (f64, f64) = (0.5, 20.0);

/// The trade's list, and where each plain name stands in it.
struct List {
    known: Vec<Known>,
    by_name: FxHashMap<String, usize>,
}

static LIST: LazyLock<List> = LazyLock::new(|| {
    // That the file reads is held by a test; without it a house would have its own materials only.
    let known: Vec<Known> = serde_json::from_str(include_str!("../../assets/materials.json")).unwrap_or_default();
    let names = |(at, known): (usize, &Known)| {
        known.also.iter().chain([&known.name]).map(|name| (plain(name), at)).collect::<Vec<_>>()
    };
    let by_name = known.iter().enumerate().flat_map(names).collect();
    List { known, by_name }
});

/// The materials of the trade, by class.
#[must_use]
pub fn materials() -> &'static [Known] {
    &LIST.known
}

impl Known {
    /// The sulfur dioxide that it gives, parts of a million of its mass.
    #[must_use]
    pub fn so2_ppm(&self) -> Option<u32> {
        self.so2_pct.map(ppm)
    }

    /// Every name that cellars write for it, its own first.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name).chain(&self.also).map(String::as_str)
    }
}

/// Letters with their marks, and what they are without: names are written either way.
const MARKED: [(&str, &str); 9] = [
    ("àáâãäå", "a"),
    ("èéêë", "e"),
    ("ìíîï", "i"),
    ("òóôõö", "o"),
    ("ùúûü", "u"),
    ("çč", "c"),
    ("ñ", "n"),
    ("žź", "z"),
    ("š", "s"),
];

/// A name without regard to case, marks on letters, spaces and signs, and to how sulfur is spelled: two names that are plainly
/// the same word come out the same.
#[must_use]
pub fn plain(name: &str) -> String {
    let mut plain = String::with_capacity(name.len());
    for letter in name.chars().flat_map(char::to_lowercase) {
        match letter {
            'œ' => plain.push_str("oe"),
            'æ' => plain.push_str("ae"),
            'ß' => plain.push_str("ss"),
            '₀'..='₉' => plain.extend(char::from_digit(u32::from(letter) - u32::from('₀'), 10)),
            _ if letter.is_alphanumeric() => match MARKED.iter().find(|(marked, _)| marked.contains(letter)) {
                Some((_, bare)) => plain.push_str(bare),
                None => plain.push(letter),
            },
            _ => {}
        }
    }
    plain.replace("sulph", "sulf")
}

fn listed(plainly: &str) -> Option<&'static Known> {
    LIST.by_name.get(plainly).map(|&at| &LIST.known[at])
}

/// The material that a name means; none where the trade's list does not know it.
#[must_use]
pub fn named(name: &str) -> Option<Named> {
    let (word, percent) = without_strength(name);
    let known = listed(&plain(word))?;
    let Some(percent) = percent.filter(|_| known.class == Class::SulfurDioxide) else {
        // `casein 5 %` is casein still.
        return Some(Named { known, so2_ppm: known.so2_ppm() });
    };
    if STRENGTH_IS_OF_THE_GAS.contains(&known.name.as_str()) {
        let believed = (SOLUTION_PCT.0..=SOLUTION_PCT.1).contains(&percent);
        return Some(Named { known: listed(&plain(SOLUTION))?, so2_ppm: believed.then(|| ppm(percent)) });
    }
    Some(Named { known: listed(&plain(SALT_SOLUTION))?, so2_ppm: None })
}

/// Percent as parts of a million.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the range just before
pub fn ppm(percent: f64) -> u32 {
    (percent * 1e4).round().clamp(0.0, 2e6) as u32
}

/// A name without the strength that may stand behind or before it, and that strength in percent.
fn without_strength(name: &str) -> (&str, Option<f64>) {
    let Some(sign) = name.find('%') else { return (name, None) };
    let before = name[..sign].trim_end();
    let digits = before.trim_end_matches(|it: char| it.is_ascii_digit() || it == '.' || it == ',');
    let Ok(percent) = before[digits.len()..].replace(',', ".").parse() else { return (name, None) };
    let after = name[sign + 1..].trim();
    let word = digits.trim();
    (if word.is_empty() { after } else { word }, Some(percent))
}

/// Whether a name that nobody knows speaks of sulfur dioxide all the same: it is not to be passed over.
#[must_use]
pub fn smells_of_sulfur(name: &str) -> bool {
    let plainly = plain(name);
    ["sulf", "so2", "solf", "soufre", "schwef", "azufr", "enxofre"].iter().any(|part| plainly.contains(part))
}

#[cfg(test)]
#[path = "material/tests.rs"]
mod figures_and_sections;

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;

    fn name(word: &str) -> Option<(&'static str, Option<u32>)> {
        named(word).map(|named| (named.known.name.as_str(), named.so2_ppm))
    }

    #[test]
    fn a_name_is_of_one_material() {
        assert!(materials().len() > 40);
        let mut seen = HashMap::new();
        for known in materials() {
            for word in known.names() {
                let before = seen.insert(plain(word), &known.name);
                assert!(before.is_none_or(|before| *before == known.name), "{word} is {before:?} and {}", known.name);
                assert_eq!(name(word).map(|(name, _)| name), Some(known.name.as_str()), "{word}");
            }
        }
    }

    #[test]
    fn metabisulfite_is_known_however_it_is_written() {
        for word in [
            "KMBS",
            "K metabisulphite",
            "Potassium Metabisulfite",
            "potassium-metabisulphite",
            "K₂S₂O₅",
            "K2S2O5",
            "PMS",
            "meta",
            "E224",
            "Métabisulfite de potassium",
            "Kaliummetabisulfit",
            "metabisolfito di potassio",
            "Metabisulfito potásico",
        ] {
            assert_eq!(name(word), Some(("potassium metabisulfite", Some(576_000))), "{word}");
        }
    }

    /// By atoms, SO2 64.064 g/mol: `K2S2O5` 222.31 57.63 %, `Na2S2O5` 190.10 67.40 %, `KHSO3` 120.17 53.31 %, `NH4HSO3` 99.11
    /// 64.64 % (masses of IUPAC).
    #[test]
    fn shares_are_those_of_the_atoms() {
        for (word, of_so2, mass) in
            [("KMBS", 2.0, 222.31), ("NaMBS", 2.0, 190.10), ("KHSO3", 1.0, 120.17), ("NH4HSO3", 1.0, 99.11)]
        {
            let share = f64::from(name(word).unwrap().1.unwrap()) / 1e6;
            assert!((share - of_so2 * 64.064 / mass).abs() < 1e-3, "{word}: {share}");
        }
    }

    #[test]
    fn a_solution_says_its_strength_or_is_asked_for_it() {
        assert_eq!(name("SO2 5 %"), Some((SOLUTION, Some(50_000))));
        assert_eq!(name("SO2 solution 6%"), Some((SOLUTION, Some(60_000))));
        assert_eq!(name("sulphurous acid, 5,5 %"), Some((SOLUTION, Some(55_000))));
        assert_eq!(name("6 % SO2"), Some((SOLUTION, Some(60_000))));
        for word in ["SO2 solution", "KMBS 10 %", "KHSO3 solution 15 %", "SO2 tablet", "SO2 90 %"] {
            assert_eq!(name(word).map(|(_, ppm)| ppm), Some(None), "{word}");
        }
    }

    #[test]
    fn other_classes_are_known_and_what_is_not_is_said() {
        let class = |word: &str| named(word).map(|named| named.known.class);
        assert_eq!(name("Egg Albumen").map(|(name, _)| name), Some("egg white"));
        assert_eq!(name("blanc d’oeuf").map(|(name, _)| name), Some("egg white"));
        assert_eq!(class("DAP"), Some(Class::Nutrient));
        assert_eq!(class("Weinsäure"), Some(Class::Acid));
        assert_eq!(class("CaCO3"), Some(Class::Deacidifying));
        assert_eq!(class("copper sulphate"), Some(Class::Fining));
        assert_eq!([class("xyzzy"), class(""), class("%"), class("5 %")], [None; 4]);
        assert!(
            smells_of_sulfur("Sulphite powder B") && smells_of_sulfur("SO2-Granulat") && !smells_of_sulfur("xyzzy")
        );
    }
}
