//! Fining agents: the materials of that class, told as a trial in glasses needs them: what is usual, and what is published.
//!
//! Others' usual doses differ (Marchal and Jeandet, in "Wine Chemistry and Biochemistry", 2009: isinglass 0.01 to 0.03 g/L, casein
//! 0.1 to 0.3, carbon 0.1 to 0.5). A trial in glasses says more than any table.

use crate::reckon::limits::Kind;
use crate::reckon::material::{self, Counted, FOR_INFORMATION, Known, Standing, WineColour, materials};

/// The agent that is counted in eggs.
const EGG_WHITE: &str = "egg white";

/// A fining agent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agent(&'static Known);

/// The agents, the most used first.
pub fn agents() -> impl Iterator<Item = Agent> {
    materials().iter().filter(|known| known.is_fining_agent()).map(Agent)
}

/// The kind of a wine by which doses are usual.
#[must_use]
pub const fn kind_of(colour: WineColour) -> Kind {
    match colour {
        WineColour::Red => Kind::Red,
        WineColour::Rose | WineColour::White => Kind::WhiteOrRose,
    }
}

impl Agent {
    /// The agent of a name, by any that the list of materials knows.
    #[must_use]
    pub fn named(name: &str) -> Option<Agent> {
        let known = material::named(name)?.known;
        known.is_fining_agent().then_some(Agent(known))
    }

    /// What it is called.
    #[must_use]
    pub fn name(&self) -> &'static str {
        &self.0.name
    }

    /// The material that it is.
    #[must_use]
    pub const fn known(&self) -> &'static Known {
        self.0
    }

    /// Whether it is the white of eggs, which is counted in eggs as well.
    #[must_use]
    pub fn is_egg_white(&self) -> bool {
        self.0.name == EGG_WHITE
    }

    /// The usual doses in a wine of a kind, g/L; those of the other kind are none.
    #[must_use]
    pub fn usual(&self, kind: Kind) -> Option<(f64, f64)> {
        self.0.usual(kind)
    }

    /// The usual doses and the published figures, in words.
    #[must_use]
    pub fn words(&self, colour: WineColour) -> String {
        let kind = kind_of(colour);
        let usual = match self.usual(kind) {
            Some((least, most)) => format!("usual {least} to {most} g/L in {} ({})", wine(kind), self.0.usual_source()),
            None => format!("no usual dose in {} is published here", wine(kind)),
        };
        let figures = self.0.figures().iter().filter(|figure| figure.only || figure.wine.holds(colour));
        let figures: Vec<String> = figures.map(|figure| format!("; {}", figure.words())).collect();
        let note = self.0.note().map_or_else(String::new, |note| format!("; {note}"));
        format!("{usual}{}{note}", figures.concat())
    }

    /// What is to be said of a dose, g/L, given to a wine that had none of it: above published figures, above or below what is
    /// usual; nothing of a usual one. What a wine was given before counts besides.
    #[must_use]
    pub fn word_on(&self, dose_g_l: f64, colour: WineColour) -> Option<String> {
        let (name, kind) = (self.name(), kind_of(colour));
        let held = self.0.held_against(dose_g_l, dose_g_l * self.0.counted_share(), colour, None);
        let said = held.iter().filter(|it| {
            it.standing == Standing::PerhapsLeft && it.figure.counted == Counted::Left
                || matches!(it.standing, Standing::Above | Standing::OtherWines)
        });
        let said: Vec<String> = said.map(material::Held::words).collect();
        if !said.is_empty() {
            return Some(format!("{}. {FOR_INFORMATION}", said.join("; ")));
        }
        let (least, most) = self.usual(kind)?;
        let side = if dose_g_l > most {
            "above"
        } else if dose_g_l < least {
            "below"
        } else {
            return None;
        };
        let source = self.0.usual_source();
        Some(format!(
            "{dose_g_l} g/L of {name} is {side} the usual {least} to {most} g/L in {} ({source}).",
            wine(kind)
        ))
    }
}

const fn wine(kind: Kind) -> &'static str {
    match kind {
        Kind::Red => "red wine",
        Kind::WhiteOrRose => "white wine",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_agent_has_many_names_and_each_is_of_one() {
        let name = |text: &str| Agent::named(text).map(|agent| agent.name());
        assert_eq!(
            [name(" Gelatine "), name("pvpp"), name("charcoal"), name("egg albumen")],
            [Some("gelatin"), Some("PVPP"), Some("activated carbon"), Some("egg white")]
        );
        assert_eq!([name("SO2"), name("")], [None, None]);
        for agent in agents() {
            assert!(agent.known().names().all(|other| name(other) == Some(agent.name())), "{}", agent.name());
        }
    }

    /// The table of usual doses: bentonite from 250 mg/L in white, gelatin 30 to 300 in red and 15 to 150 in white; bentonite to 800 in
    /// white by the trials of Esteruelas et al. 2009 (50 to 80 g/hL).
    #[test]
    fn a_dose_is_held_against_what_is_usual() {
        let word = |name: &str, dose, colour| Agent::named(name).unwrap().word_on(dose, colour);
        assert_eq!(word("bentonite", 0.25, WineColour::White), None);
        assert_eq!(word("bentonite", 0.8, WineColour::Rose), None);
        assert!(word("bentonite", 0.9, WineColour::White).unwrap().contains("above the usual 0.25 to 0.8 g/L"));
        assert!(
            word("gelatin", 0.02, WineColour::Red).unwrap().contains("below the usual 0.03 to 0.3 g/L in red wine")
        );
        assert_eq!(word("gelatin", 0.02, WineColour::White), None);
        assert_eq!(word("bentonite", 3.0, WineColour::Red), None, "nothing is published of it");
    }

    /// 27 CFR 24.241: 25 lb/1000 gal of carbon, printed as 3.0 g/L. (EU) 2019/934 and the OIV: 1.0, for white wine only.
    #[test]
    fn what_is_above_a_published_figure_is_said_first() {
        let word = |dose, colour| Agent::named("carbon").unwrap().word_on(dose, colour);
        assert_eq!(word(1.0, WineColour::White), None);
        let white = word(2.0, WineColour::White).unwrap();
        assert!(
            white.starts_with("2 g/L of activated carbon is above the 1 g/L of Regulation (EU) 2019/934"),
            "{white}"
        );
        assert!(white.ends_with(FOR_INFORMATION), "{white}");
        assert!(word(3.1, WineColour::White).unwrap().contains("above the 3 g/L of 27 CFR 24.241"));
        let red = word(0.1, WineColour::Red).unwrap();
        assert!(red.contains("names activated carbon for must, wine that still ferments and white wine only"), "{red}");
    }
}
