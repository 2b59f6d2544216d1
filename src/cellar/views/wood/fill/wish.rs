//! Wishes of a barrel-down: how much of the wine is to lie in which kind of barrel, as they are written.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::jobs::floor::vessel::Wood;
use crate::reckon::fill::{Amount, Limit, WHOLE, Wish};
use crate::units::{Volume, VolumeUnit};

/// A quality of a barrel's wood that is told by a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quality {
    /// The forest its oak grew in.
    Forest,
    /// How long the fire was.
    Toast,
    /// Who made it.
    Cooper,
    /// How close the rings stand.
    Grain,
}

impl Quality {
    /// All of them.
    pub const ALL: [Quality; 4] = [Quality::Forest, Quality::Toast, Quality::Cooper, Quality::Grain];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Quality::Forest => "forest",
            Quality::Toast => "toast",
            Quality::Cooper => "cooper",
            Quality::Grain => "grain",
        }
    }

    /// What is known of it of some wood.
    #[must_use]
    pub fn of(self, wood: &Wood) -> Option<&Label> {
        match self {
            Quality::Forest => wood.forest.as_ref(),
            Quality::Toast => wood.toast.as_ref(),
            Quality::Cooper => wood.cooper.as_ref(),
            Quality::Grain => wood.grain.as_ref(),
        }
    }
}

/// A kind of barrel that a wish speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Wood that is filled for the so-manyeth time: new wood for the first.
    Fill(u32),
    /// Wood that held wine before.
    Used,
    /// Staves that dried outdoors for so many months, or for as many or more.
    Seasoning {
        /// Months.
        months: u32,
        /// Whether longer will do as well.
        or_more: bool,
    },
    /// Wood of a quality; the word is compared whole, without regard to case.
    Of(Quality, String),
}

impl Kind {
    /// Whether a barrel is of this kind in one of its fills.
    #[must_use]
    pub fn is(&self, wood: &Wood, fill: u32) -> bool {
        match self {
            Kind::Fill(number) => fill == *number,
            Kind::Used => fill > 1,
            Kind::Seasoning { months, or_more } => {
                wood.seasoning_months.is_some_and(|dried| dried == *months || (*or_more && dried > *months))
            }
            Kind::Of(quality, asked) => quality.of(wood).is_some_and(|known| same(known.as_str(), asked)),
        }
    }
}

pub(super) fn same(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Kind::Fill(1) => f.write_str("new"),
            Kind::Fill(number) => write!(f, "fill:{number}"),
            Kind::Used => f.write_str("used"),
            Kind::Seasoning { months, or_more } => write!(f, "seasoning:{months}{}", if *or_more { "+" } else { "" }),
            Kind::Of(quality, word) => write!(f, "{}:{}", quality.word(), harmless(word)),
        }
    }
}

impl FromStr for Kind {
    type Err = WishError;

    fn from_str(text: &str) -> Result<Kind, WishError> {
        let (name, word) = match text.split_once(':') {
            Some((name, word)) => (name.trim().to_lowercase(), word.trim()),
            None => (text.trim().to_lowercase(), ""),
        };
        let number = |digits: &str| digits.parse::<u32>().map_err(|_| WishError::NoNumber(quoted(text)));
        if let Some(quality) = Quality::ALL.into_iter().find(|quality| quality.word() == name) {
            return match word {
                "" => Err(WishError::NoWord(quality.word())),
                word => Ok(Kind::Of(quality, word.to_owned())),
            };
        }
        match (name.as_str(), word) {
            ("new", "") => Ok(Kind::Fill(1)),
            ("used", "") => Ok(Kind::Used),
            ("fill", digits) => match number(digits)? {
                0 => Err(WishError::NoNumber(quoted(text))),
                fill => Ok(Kind::Fill(fill)),
            },
            ("seasoning", digits) => {
                let (digits, or_more) =
                    digits.strip_suffix('+').map_or((digits, false), |digits| (digits.trim(), true));
                Ok(Kind::Seasoning { months: number(digits)?, or_more })
            }
            _ => Err(WishError::UnknownKind(quoted(text))),
        }
    }
}

/// How much of the wine is to lie in a kind of barrel: `new>=30%`, `forest:Allier=50%`, `cooper:Oakes<=900 L`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FillWish {
    /// In which kind of barrel.
    pub kind: Kind,
    /// How much.
    pub wish: Wish,
}

/// Why a text is no wish.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum WishError {
    #[error("'{0}' says no amount. Write a wish like new>=30%, forest:Allier=50% or cooper:NAME<=900L.")]
    NoAmount(String),
    #[error(
        "'{0}' is no kind of barrel. Use new, used, fill:NUMBER, seasoning:MONTHS, or forest:, toast:, cooper: or grain: with a word."
    )]
    UnknownKind(String),
    #[error("'{0}:' needs a word behind it, like {0}:NAME>=30%.")]
    NoWord(&'static str),
    #[error("'{0}' needs a whole number, like fill:2, seasoning:24 or seasoning:24+ for 24 months or more.")]
    NoNumber(String),
    #[error("'{0}' is no amount. Give a share like 30% or litres like 900L.")]
    BadAmount(String),
    #[error("'{0}' is more than all. Give at most 100%.")]
    MoreThanAll(String),
}

/// As much of a text as a sentence can quote, without what could disturb a screen.
pub(super) fn quoted(text: &str) -> String {
    harmless(&text.trim().chars().take(40).collect::<String>())
}

impl FromStr for FillWish {
    type Err = WishError;

    fn from_str(text: &str) -> Result<FillWish, WishError> {
        let signs = [
            (">=", Limit::AtLeast),
            ("≥", Limit::AtLeast),
            ("<=", Limit::AtMost),
            ("≤", Limit::AtMost),
            ("=", Limit::Exactly),
        ];
        let found = signs.into_iter().find_map(|(sign, limit)| Some((text.split_once(sign)?, limit)));
        let Some(((kind, amount), limit)) = found else { return Err(WishError::NoAmount(quoted(text))) };
        Ok(FillWish { kind: kind.parse()?, wish: Wish { limit, amount: amount_of(amount.trim())? } })
    }
}

fn amount_of(text: &str) -> Result<Amount, WishError> {
    let bad = || WishError::BadAmount(quoted(text));
    let Some(percent) = text.strip_suffix('%') else {
        // A bare number could be either.
        if !text.ends_with(char::is_alphabetic) {
            return Err(bad());
        }
        return Volume::parse(text, VolumeUnit::customary()).map(Amount::Litres).map_err(|_| bad());
    };
    let percent = percent.trim().replace(',', ".");
    let (whole, part) = percent.split_once('.').unwrap_or((&percent, ""));
    let is_number = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || part.len() > 2 || !is_number(whole) || !is_number(part) {
        return Err(bad());
    }
    let hundredths = format!("{whole}{part:0<2}").parse::<u32>().unwrap_or(u32::MAX);
    if hundredths > WHOLE { Err(WishError::MoreThanAll(quoted(text))) } else { Ok(Amount::Share(hundredths)) }
}

impl fmt::Display for FillWish {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.wish.limit {
            Limit::AtLeast => ">=",
            Limit::AtMost => "<=",
            Limit::Exactly => "=",
        };
        write!(f, "{}{sign}", self.kind)?;
        match self.wish.amount {
            Amount::Litres(volume) => write!(f, "{volume}"),
            Amount::Share(share) if share % 100 == 0 => write!(f, "{}%", share / 100),
            Amount::Share(share) => write!(f, "{}.{:02}%", share / 100, share % 100),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wish(text: &str) -> Result<FillWish, WishError> {
        text.parse()
    }

    #[test]
    fn wishes_are_read_as_a_hand_writes_them_and_shown_as_they_are_read() {
        for (written, shown) in [
            ("new>=30%", "new>=30%"),
            (" New >= 30 % ", "new>=30%"),
            ("used<=12,5%", "used<=12.50%"),
            ("fill:2=1.2hL", "fill:2=120 L"),
            ("fill:1=10%", "new=10%"),
            ("forest: Allier ≥ 50%", "forest:Allier>=50%"),
            ("toast:medium plus=40%", "toast:medium plus=40%"),
            ("cooper:Oakes & Daughters≤25%", "cooper:Oakes & Daughters<=25%"),
            ("seasoning:36=100%", "seasoning:36=100%"),
            ("seasoning:24+>=900L", "seasoning:24+>=900 L"),
            ("grain:fine>=0%", "grain:fine>=0%"),
        ] {
            let read = wish(written).unwrap();
            assert_eq!(read.to_string(), shown);
            assert_eq!(wish(shown), Ok(read));
        }
    }

    #[test]
    fn what_is_no_wish_is_told() {
        let is = |text: &str| text.to_owned();
        for (text, error) in [
            ("", WishError::NoAmount(is(""))),
            ("new", WishError::NoAmount(is("new"))),
            ("new>=120%", WishError::MoreThanAll(is("120%"))),
            ("new>=100.01%", WishError::MoreThanAll(is("100.01%"))),
            ("new>=99999999999999%", WishError::MoreThanAll(is("99999999999999%"))),
            ("new>=30", WishError::BadAmount(is("30"))),
            ("new>=-30%", WishError::BadAmount(is("-30%"))),
            ("new>=%", WishError::BadAmount(is("%"))),
            ("new>=3 kg", WishError::BadAmount(is("3 kg"))),
            ("new:Allier>=3%", WishError::UnknownKind(is("new:Allier"))),
            ("oak>=3%", WishError::UnknownKind(is("oak"))),
            ("forest:>=3%", WishError::NoWord("forest")),
            ("fill:0>=3%", WishError::NoNumber(is("fill:0"))),
            ("fill:two>=3%", WishError::NoNumber(is("fill:two"))),
            ("seasoning:+>=3%", WishError::NoNumber(is("seasoning:+"))),
        ] {
            assert_eq!(wish(text), Err(error), "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = wish(&text);
            let _ = wish(&format!("new>={text}%"));
        }
    }
}
