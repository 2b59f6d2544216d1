//! Whose rules of labels, on the command line.

use clap::ValueEnum;

use crate::reckon::label_share::Rules;

/// One side's rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SideWord {
    /// Those of the United States.
    Us,
    /// Those of the European Union.
    Eu,
}

impl From<SideWord> for Rules {
    fn from(word: SideWord) -> Rules {
        match word {
            SideWord::Us => Rules::Us,
            SideWord::Eu => Rules::Eu,
        }
    }
}

/// Whose rules of labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RulesWord {
    /// Those of the United States.
    Us,
    /// Those of the European Union.
    Eu,
    /// Those of both.
    Both,
}

impl RulesWord {
    /// The rules that are asked for; none stands for both.
    #[must_use]
    pub const fn rules(self) -> Option<Rules> {
        match self {
            RulesWord::Us => Some(Rules::Us),
            RulesWord::Eu => Some(Rules::Eu),
            RulesWord::Both => None,
        }
    }
}
