//! What can be said of a serving on the command line.

use clap::Args;

use crate::reckon::serving::{DAY, FLIGHT, Question};

/// What a serving needs to know.
#[derive(Clone, Debug, Args)]
pub struct ServingArguments {
    /// How many glasses there are, hidden repeats too
    #[arg(long, value_name = "NUMBER")]
    pub glasses: usize,
    /// How many tasters there are
    #[arg(long, value_name = "NUMBER")]
    pub tasters: usize,
    /// The most glasses of one flight
    #[arg(long, value_name = "NUMBER", default_value_t = FLIGHT)]
    pub flight: usize,
    /// The most glasses that one taster tastes
    #[arg(long, value_name = "NUMBER", default_value_t = DAY)]
    pub most: usize,
    /// A hidden repeat: this glass is the same wine as that one, like 12=3; as often as there are repeats
    #[arg(long, value_name = "GLASS=GLASS", value_parser = pair)]
    pub repeat: Vec<(usize, usize)>,
    /// The same number gives the same serving
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
}

impl ServingArguments {
    /// The question that is asked; glasses count from nought in it.
    #[must_use]
    pub fn question(&self) -> Question {
        Question {
            glasses: self.glasses,
            repeats: self.repeat.iter().map(|(repeat, original)| (repeat - 1, original - 1)).collect(),
            tasters: self.tasters,
            flight: self.flight,
            most: self.most,
        }
    }
}

fn pair(text: &str) -> Result<(usize, usize), String> {
    let number = |word: &str| word.trim().parse().ok().filter(|&number: &usize| number > 0);
    let both = text.split_once('=').and_then(|(repeat, original)| Some((number(repeat)?, number(original)?)));
    both.ok_or_else(|| format!("\"{text}\" names no two glasses. Write it like 12=3: glass 12 repeats glass 3."))
}
