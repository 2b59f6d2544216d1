//! Published figures of what is added to wine: how much of it, by whose rules, of which wine, in which section and edition.
//!
//! They are for information. Rules change, and not every text could be read: a figure without an edition was not looked up in the
//! text that is in force, and is said to be unverified.

use serde::Deserialize;

use super::Known;
use crate::reckon::label_share::Rules;
use crate::reckon::limits::RuleSet;
use crate::units::said_dose;

/// What stands below published figures.
pub const FOR_INFORMATION: &str = "For information; rules change: follow local codes and licensed practice.";

/// What the water of all additions together comes to at most, a share of the wine: US 27 CFR 24.246(a)(2), read as of 2022.
pub const WATER_FIGURE: f64 = 0.01;

/// Where that stands.
pub const WATER_SECTION: &str = "27 CFR 24.246(a)(2)";

/// The colour of a wine, as far as figures hang on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WineColour {
    /// Red.
    Red,
    /// Rosé.
    Rose,
    /// White.
    White,
}

/// For which wines a figure is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Wines {
    /// For every one.
    #[default]
    Every,
    /// For red wine.
    Red,
    /// For white wine, besides must and wine that still ferments.
    White,
    /// For white and rosé wine.
    NotRed,
    /// For must and wine that still ferments: for none that lies in a barrel room.
    Unfinished,
}

impl Wines {
    /// Whether finished wine of a colour is one of them.
    #[must_use]
    pub const fn holds(self, colour: WineColour) -> bool {
        match self {
            Wines::Every => true,
            Wines::Red => matches!(colour, WineColour::Red),
            Wines::White => matches!(colour, WineColour::White),
            Wines::NotRed => !matches!(colour, WineColour::Red),
            Wines::Unfinished => false,
        }
    }

    /// Which they are, in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Wines::Every => "every wine",
            Wines::Red => "red wine",
            Wines::White => "must, wine that still ferments and white wine",
            Wines::NotRed => "white and rosé wine",
            Wines::Unfinished => "must and wine that still ferments",
        }
    }
}

/// What a figure counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Counted {
    /// What was added, all together.
    #[default]
    Added,
    /// What is left in the wine, which only a test can tell.
    Left,
}

/// How sure a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sure<'a> {
    /// Its text was read, in an edition, or a second source named it.
    Edition(&'a str),
    /// Its text was not read.
    Unverified,
}

/// A published figure of a material.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// Whose rules.
    pub rules: RuleSet,
    /// How much, grams a litre of wine: of the material, or of what it counts as.
    pub g_l: f64,
    /// What is counted where it is a part of the material: `copper`.
    #[serde(default)]
    pub of: Option<String>,
    /// Whether what is added counts, or what is left.
    #[serde(default)]
    pub counted: Counted,
    /// For which wines.
    #[serde(default)]
    pub wine: Wines,
    /// Whether its rules name the material for these wines only; else it is the figure of these, and others have another or none.
    #[serde(default)]
    pub only: bool,
    /// What for, or how.
    #[serde(default)]
    pub purpose: Option<String>,
    /// Where it stands.
    pub section: String,
    /// Which edition was read; none where none was.
    #[serde(default)]
    edition: Option<String>,
}

impl Figure {
    /// How sure it is.
    #[must_use]
    pub fn sure(&self) -> Sure<'_> {
        self.edition.as_deref().map_or(Sure::Unverified, Sure::Edition)
    }

    /// Whether it is one of the side that a house goes by; of both where it said none. What the International Organisation of
    /// Vine and Wine recommends goes with the European Union, whose rules follow it.
    #[must_use]
    pub fn is_of(&self, rules: Option<Rules>) -> bool {
        match rules {
            None => true,
            Some(Rules::Us) => self.rules == RuleSet::Us,
            Some(Rules::Eu) => self.rules != RuleSet::Us,
        }
    }

    /// Where it stands and how sure that is: `27 CFR 24.246 (2015; re-issued 2022)`.
    #[must_use]
    pub fn source(&self) -> String {
        let sure = match self.sure() {
            Sure::Edition(edition) => edition,
            Sure::Unverified => "unverified",
        };
        format!("{} ({sure})", self.section)
    }

    /// The figure itself: `6 mg/L of copper, 27 CFR 24.246 (2015; re-issued 2022), against haze`.
    #[must_use]
    pub fn words(&self) -> String {
        let of = self.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
        let left = if self.counted == Counted::Left { " left in the wine" } else { "" };
        let wine = if self.wine == Wines::Every { String::new() } else { format!(", for {}", self.wine.words()) };
        let purpose = self.purpose.as_ref().map_or_else(String::new, |purpose| format!(", {purpose}"));
        format!("{}{of}{left}{wine}{purpose}: {}", said_dose(self.g_l), self.source())
    }
}

/// How an amount stands to a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Standing {
    /// At the figure or below it.
    Within,
    /// Above it.
    Above,
    /// Its rules name the material for other wines only.
    OtherWines,
    /// More may be left than the figure says: only a test can tell.
    PerhapsLeft,
}

/// What was added of a material, held against one figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held<'a> {
    /// The figure.
    pub figure: &'a Figure,
    /// What is counted: the material, or a part of it.
    pub counted: &'a str,
    /// How much of that was added, grams a litre.
    pub g_l: f64,
    /// How it stands.
    pub standing: Standing,
}

/// Room for what a sum of rounded amounts is off by: a thousandth of a figure.
const ROUNDING: f64 = 1.001;

impl Known {
    /// What amounts are counted of when several materials count together: `copper` of its sulfate and its citrate.
    #[must_use]
    pub fn counts_as(&self) -> &str {
        self.counts_as.as_ref().map_or(&self.name, |part| &part.of)
    }

    /// How much of what it counts as is in an amount of it, a share.
    #[must_use]
    pub fn counted_share(&self) -> f64 {
        self.counts_as.as_ref().map_or(1.0, |part| part.pct / 100.0)
    }

    /// The figures that are published of it.
    #[must_use]
    pub fn figures(&self) -> &[Figure] {
        &self.figures
    }

    /// Holds what was added against every figure of the rules that a house goes by: `of_itself` is how much of the material was
    /// added, `counted` how much of what it counts as, with the other materials that count as that; grams a litre of wine.
    #[must_use]
    pub fn held_against(
        &self,
        of_itself: f64,
        counted: f64,
        colour: WineColour,
        rules: Option<Rules>,
    ) -> Vec<Held<'_>> {
        let figures = self.figures.iter().filter(|figure| figure.is_of(rules));
        let held = |figure: &'_ Figure| {
            let g_l = if figure.of.is_some() { counted } else { of_itself };
            let standing = match figure.wine.holds(colour) {
                false if figure.only => Standing::OtherWines,
                false => return None,
                true if g_l <= figure.g_l * ROUNDING => Standing::Within,
                true if figure.counted == Counted::Left => Standing::PerhapsLeft,
                true => Standing::Above,
            };
            Some((g_l, standing))
        };
        figures
            .filter_map(|figure| {
                let (g_l, standing) = held(figure)?;
                let counted = figure.of.as_deref().unwrap_or(&self.name);
                Some(Held { figure, counted, g_l, standing })
            })
            .collect()
    }

    /// Of figures of one text for several purposes the widest tells whether an amount is above that text: the purpose is not known.
    #[must_use]
    pub fn above<'a>(held: &[Held<'a>]) -> Vec<Held<'a>> {
        let is_same_text = |one: &Held<'_>, other: &Held<'_>| {
            (one.figure.rules, one.figure.counted) == (other.figure.rules, other.figure.counted)
                && one.figure.section == other.figure.section
                && one.counted == other.counted
        };
        let asks = |it: &&Held<'_>| match it.standing {
            Standing::OtherWines => true,
            Standing::Above => !held.iter().any(|other| is_same_text(it, other) && other.figure.g_l > it.figure.g_l),
            Standing::Within | Standing::PerhapsLeft => false,
        };
        held.iter().filter(asks).copied().collect()
    }
}

impl Held<'_> {
    /// How it stands, as a part of a sentence: `12 mg/L of copper is above the 6 mg/L of 27 CFR 24.246 (2015; re-issued 2022)`.
    #[must_use]
    pub fn words(&self) -> String {
        let Held { figure, counted, g_l, standing } = *self;
        let (found, most, source) = (said_dose(g_l), said_dose(figure.g_l), figure.source());
        let purpose = figure.purpose.as_ref().map_or_else(String::new, |purpose| format!(" {purpose}"));
        match standing {
            Standing::Within if figure.counted == Counted::Left => {
                format!("{found} of {counted} is within the {most} of {source} for what is left")
            }
            Standing::Within => format!("{found} of {counted} is within the {most} of {source}{purpose}"),
            Standing::Above => format!("{found} of {counted} is above the {most} of {source}{purpose}"),
            Standing::OtherWines => format!("{source} names {counted} for {} only", figure.wine.words()),
            Standing::PerhapsLeft => {
                format!(
                    "up to {found} of {counted} may be left, and the figure of {source} for that is {most}: have it tested"
                )
            }
        }
    }
}
