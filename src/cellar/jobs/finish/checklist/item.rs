//! The trade's items of the checklist: what each asks, and by which limit it is met.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::cellar::core::label::Label;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::practice::Practice;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::label_share::Rules;
use crate::reckon::limits::{Limit, Limits, limits};
use crate::reckon::material::FOR_INFORMATION;
use crate::reckon::organic::ASK;
use crate::units::figure;

/// Whose figure it is where no house has its own.
const COMMON: &str = "common practice";
/// Dissolved oxygen that is wanted at bottling, mg/L (common practice).
pub const OXYGEN_WANTED_MG_L: f64 = 0.5;

/// Turbidity up to which a wine looks bright in the bottle, NTU: as the house says, else by its colour (common practice, unverified).
#[must_use]
pub const fn bright_ntu(practice: &Practice, colour: Colour) -> f64 {
    match (practice.most_turbidity_ntu, colour) {
        (Some(most), _) => most,
        (None, Colour::Red) => 2.0,
        (None, Colour::White | Colour::Rose) => 1.0,
    }
}

/// Whose figure it is: this house's where it is another than that of common practice.
fn whose(own: f64, common: f64, source: &str) -> String {
    if (own - common).abs() < 1e-9 { source.to_owned() } else { "this house".to_owned() }
}

/// An item of a checklist.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Item {
    /// One that every cellar asks for.
    Trade(TradeItem),
    /// One of this house's own.
    House(Label),
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Item::Trade(item) => f.pad(item.name()),
            Item::House(item) => f.pad(item.as_str()),
        }
    }
}

/// An item that every cellar asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[allow(missing_docs)] // `asks` says it
pub enum TradeItem {
    VolatileAcidity,
    Taste,
    Holds,
    Dry,
    Malic,
    Heat,
    Cold,
    Turbidity,
    Oxygen,
    MolecularSulfur,
    TotalSulfur,
    Claims,
    Alcohol,
    Label,
    DryGoods,
    Filterability,
    Microbiology,
    CarbonDioxide,
    Organic,
    Allergens,
    Ingredients,
}

/// What a wine means to be, as far as its list hangs on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meant {
    /// Its colour.
    pub colour: Colour,
    /// Whether malolactic fermentation was begun in it.
    pub malolactic: bool,
}

impl TradeItem {
    /// All, in the order of the list.
    pub const ALL: [TradeItem; 21] = [
        TradeItem::VolatileAcidity,
        TradeItem::Taste,
        TradeItem::Holds,
        TradeItem::Dry,
        TradeItem::Malic,
        TradeItem::Heat,
        TradeItem::Cold,
        TradeItem::Filterability,
        TradeItem::Turbidity,
        TradeItem::Microbiology,
        TradeItem::Oxygen,
        TradeItem::CarbonDioxide,
        TradeItem::MolecularSulfur,
        TradeItem::TotalSulfur,
        TradeItem::Organic,
        TradeItem::Claims,
        TradeItem::Alcohol,
        TradeItem::Allergens,
        TradeItem::Ingredients,
        TradeItem::Label,
        TradeItem::DryGoods,
    ];

    /// Whether a run waits for it where the house has not said: of heat in white and rosé, which hold protein; of malolactic
    /// fermentation in reds, and in others where it was begun (common practice). That a wine is not to be dry the house says of its lot.
    #[must_use]
    pub const fn is_required_of(self, wine: Meant) -> bool {
        match self {
            TradeItem::Heat => !matches!(wine.colour, Colour::Red),
            TradeItem::Malic => matches!(wine.colour, Colour::Red) || wine.malolactic,
            TradeItem::Filterability
            | TradeItem::Microbiology
            | TradeItem::CarbonDioxide
            | TradeItem::Organic
            | TradeItem::Allergens
            | TradeItem::Ingredients => false,
            _ => true,
        }
    }

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            TradeItem::VolatileAcidity => "volatile acidity",
            TradeItem::Taste => "taste",
            TradeItem::Holds => "holds",
            TradeItem::Dry => "dry",
            TradeItem::Malic => "malic",
            TradeItem::Heat => "heat",
            TradeItem::Cold => "cold",
            TradeItem::Turbidity => "turbidity",
            TradeItem::Oxygen => "oxygen",
            TradeItem::MolecularSulfur => "molecular SO2",
            TradeItem::TotalSulfur => "total SO2",
            TradeItem::Claims => "claims",
            TradeItem::Alcohol => "alcohol",
            TradeItem::Label => "label",
            TradeItem::DryGoods => "dry goods",
            TradeItem::Filterability => "filterability",
            TradeItem::Microbiology => "microbiology",
            TradeItem::CarbonDioxide => "CO2",
            TradeItem::Organic => "organic",
            TradeItem::Allergens => "allergens",
            TradeItem::Ingredients => "ingredients",
        }
    }

    /// The item that a word means, however its words are joined.
    #[must_use]
    pub fn called(word: &str) -> Option<TradeItem> {
        TradeItem::ALL.into_iter().find(|item| same(item.name(), word))
    }

    /// What is asked.
    #[must_use]
    pub const fn asks(self) -> &'static str {
        match self {
            TradeItem::VolatileAcidity => "volatile acidity within the figures",
            TradeItem::Taste => "no fault in the last tastes",
            TradeItem::Holds => "no vessel of it is held",
            TradeItem::Dry => "dry",
            TradeItem::Malic => "malolactic fermentation done",
            TradeItem::Heat => "stable to heat",
            TradeItem::Cold => "stable to cold",
            TradeItem::Turbidity => "bright",
            TradeItem::Oxygen => "little dissolved oxygen",
            TradeItem::MolecularSulfur => "enough molecular SO2",
            TradeItem::TotalSulfur => "total SO2 within the figures",
            TradeItem::Claims => "the wine holds what its label claims",
            TradeItem::Alcohol => "alcohol within the label's tolerance",
            TradeItem::Label => "label approved",
            TradeItem::DryGoods => "bottles, closures, capsules and labels there",
            TradeItem::Filterability => "goes through the filter that is meant",
            TradeItem::Microbiology => "no yeast or bacteria that grow",
            TradeItem::CarbonDioxide => "dissolved carbon dioxide as wanted",
            TradeItem::Organic => "what is known of it beside its organic grapes",
            TradeItem::Allergens => "the label names what it has to",
            TradeItem::Ingredients => "the list of ingredients is right",
        }
    }

    /// What makes it met, with its source. Sugar in g/L, as far as it is known: limits of the law hang on it.
    #[must_use]
    pub fn rule(self, practice: &Practice, colour: Colour, sugar_g_l: Option<f64>) -> String {
        let of_law = |pick: fn(Limits) -> Limit| {
            let limits = practice.sides().iter().map(|&rules| pick(limits(rules.into(), colour.into(), sugar_g_l)));
            let words = limits.map(|limit| {
                let read = Analyte::of_subject(limit.subject).read_as(practice.acid_unit);
                format!("{} ({})", read.with_unit(figure(read.value(limit.most))), limit.section)
            });
            format!("at most {}", words.collect::<Vec<_>>().join(", "))
        };
        let common = Practice::default();
        match self {
            TradeItem::VolatileAcidity => of_law(|limits| limits.volatile_acidity),
            TradeItem::TotalSulfur => of_law(|limits| limits.total_sulfur_dioxide),
            TradeItem::Dry => format!(
                "at most {} g/L sugar ({}; EU 2019/33 Annex III B calls up to 4 g/L dry, unverified)",
                figure(practice.dry_g_l),
                whose(practice.dry_g_l, common.dry_g_l, COMMON),
            ),
            TradeItem::Malic => {
                let whose = whose(practice.malic_done_g_l, common.malic_done_g_l, COMMON);
                format!("at most {} g/L malic acid ({whose})", figure(practice.malic_done_g_l))
            }
            TradeItem::Turbidity => {
                let most = bright_ntu(practice, colour);
                let whose = whose(most, bright_ntu(&common, colour), "common practice, unverified");
                format!("at most {} NTU ({whose})", figure(most))
            }
            TradeItem::Oxygen => {
                let whose = whose(practice.most_oxygen_mg_l, common.most_oxygen_mg_l, COMMON);
                format!(
                    "at most {} mg/L ({whose}), {} wanted (common practice)",
                    figure(practice.most_oxygen_mg_l),
                    figure(OXYGEN_WANTED_MG_L)
                )
            }
            TradeItem::MolecularSulfur => format!(
                "at least {} mg/L by the model '{}' (this house; {} to {} is common practice)",
                figure(practice.molecular_so2_mg_l),
                practice.so2_model.word(),
                figure(0.5),
                figure(0.8)
            ),
            TradeItem::Claims => "ticked; see `claims lot`".to_owned(),
            TradeItem::Alcohol => {
                let side = |rules: &Rules| match rules {
                    Rules::Us => "±1.5 % vol, above 14 % ±1.0, never across 7, 14, 16, 21 or 24 % (27 CFR 4.36)",
                    Rules::Eu => "±0.5 % vol, in whole or half units (EU 2019/33 art. 44)",
                };
                practice.sides().iter().map(side).collect::<Vec<_>>().join("; ")
            }
            TradeItem::Taste | TradeItem::Holds => "common practice".to_owned(),
            TradeItem::Heat => {
                "ticked; white and rosé wine holds protein that heat turns cloudy (common practice)".to_owned()
            }
            TradeItem::Organic => ASK.to_owned(),
            TradeItem::Allergens => {
                let side = |rules: &Rules| match rules {
                    Rules::Us => "sulfites from 10 ppm (27 CFR 4.32(e)), the others voluntary, all or none (4.32a)",
                    Rules::Eu => {
                        "sulfites above 10 mg/L, egg and milk if found (EU 1169/2011 Annex II, 2019/33 art. 41)"
                    }
                };
                let sides: Vec<&str> = practice.sides().iter().map(side).collect();
                format!("ticked; {}. {FOR_INFORMATION}", sides.join("; "))
            }
            TradeItem::Ingredients => format!(
                "ticked; by the book, fining agents apart. European Union: of wine made from 8 December 2023, if behind a link then \
                 without sales or tracking (EU 2021/2117; notice C/2023/1190). {FOR_INFORMATION}"
            ),
            TradeItem::Cold
            | TradeItem::Label
            | TradeItem::DryGoods
            | TradeItem::Filterability
            | TradeItem::Microbiology
            | TradeItem::CarbonDioxide => "ticked (common practice)".to_owned(),
        }
    }
}

/// Whether two words name the same item: case, hyphens and underscores make no difference.
#[must_use]
pub fn same(one: &str, other: &str) -> bool {
    let plain = |word: &str| word.to_lowercase().replace(['_', '-'], " ");
    plain(one) == plain(other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_has_a_name_of_its_own_that_is_a_label() {
        for item in TradeItem::ALL {
            assert!(Label::new(item.name()).is_ok());
            assert_eq!(TradeItem::called(&item.name().to_uppercase().replace(' ', "_")), Some(item));
        }
        assert_eq!(TradeItem::called("labels proofread"), None);
    }

    #[test]
    fn every_rule_says_where_it_is_from() {
        for item in TradeItem::ALL {
            for colour in [Colour::Red, Colour::White] {
                let rule = item.rule(&Practice::default(), colour, None);
                let sourced = ["CFR", "EU 2019", "EU 2021", "common practice", "claims lot", ASK]
                    .iter()
                    .any(|it| rule.contains(it));
                assert!(sourced, "{rule}");
            }
        }
    }
}
