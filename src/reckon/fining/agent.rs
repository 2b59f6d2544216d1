//! Fining agents of the trade: what they are called, what doses are usual, and the most that rules allow.
//!
//! The usual doses are those of one public table (the page "Fining agents" of the British programme Wine Skills), so that they fit each other;
//! others differ (Marchal and Jeandet, in "Wine Chemistry and Biochemistry", 2009: isinglass 0.01 to 0.03 g/L, casein 0.1 to
//! 0.3, carbon 0.1 to 0.5). A trial in glasses says more than any table.

use crate::reckon::limits::Kind;
use crate::reckon::material;

/// Where the usual doses are from.
pub const USUAL_SOURCE: &str = "WineSkills, Fining agents";

/// The agent that is counted in eggs.
const EGG_WHITE: &str = "egg white";

/// A fining agent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agent {
    /// What it is called.
    pub name: &'static str,
    /// The usual doses in white and rosé wine, g/L.
    white: Option<(f64, f64)>,
    /// The usual doses in red wine, g/L.
    red: Option<(f64, f64)>,
    /// The most that rules allow, the lowest first.
    pub most: &'static [Most],
}

/// The most of an agent that a rule allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Most {
    /// g/L.
    pub g_l: f64,
    /// Which rule.
    pub section: &'static str,
}

/// The agents, the most used first.
///
/// Limits: carbon 27 CFR 24.241 (25 lb/1000 gal, printed as 3.0 g/L); PVPP and silica 27 CFR 24.246 (60 and 20 lb/1000 gal,
/// printed as 7.19 and 2.4 g/L; which material they stand at is from memory); chitosan the former Regulation (EC) 606/2009,
/// Annex XIII, against haze; PVPP and carbon of the Union, Regulation (EU) 2019/934, Annex I, from memory.
pub const AGENTS: [Agent; 9] = [
    Agent { name: "bentonite", white: Some((0.25, 0.5)), red: None, most: &[] },
    Agent { name: EGG_WHITE, white: None, red: Some((0.06, 0.1)), most: &[] },
    Agent { name: "gelatin", white: Some((0.015, 0.15)), red: Some((0.03, 0.3)), most: &[] },
    Agent { name: "isinglass", white: Some((0.01, 0.1)), red: None, most: &[] },
    Agent { name: "casein", white: Some((0.05, 0.5)), red: None, most: &[] },
    Agent {
        name: "PVPP",
        white: Some((0.2, 0.6)),
        red: None,
        most: &[Most { g_l: 0.8, section: "Regulation (EU) 2019/934" }, Most { g_l: 7.19, section: "27 CFR 24.246" }],
    },
    Agent {
        name: "silica sol",
        white: Some((0.03, 0.3)),
        red: None,
        most: &[Most { g_l: 2.4, section: "27 CFR 24.246" }],
    },
    Agent {
        name: "activated carbon",
        white: None,
        red: None,
        most: &[Most { g_l: 1.0, section: "Regulation (EU) 2019/934" }, Most { g_l: 3.0, section: "27 CFR 24.241" }],
    },
    Agent {
        name: "chitosan",
        white: None,
        red: None,
        most: &[Most { g_l: 1.0, section: "Regulation (EC) 606/2009, Annex XIII" }],
    },
];

impl Agent {
    /// The agent of a name, by any that the list of materials knows.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Agent> {
        let material = material::named(name)?;
        AGENTS.iter().find(|agent| agent.name == material.known.name)
    }

    /// Whether it is the white of eggs, which is counted in eggs as well.
    #[must_use]
    pub fn is_egg_white(&self) -> bool {
        self.name == EGG_WHITE
    }

    /// The usual doses in a wine of a kind, g/L; those of the other kind are none.
    #[must_use]
    pub const fn usual(&self, kind: Kind) -> Option<(f64, f64)> {
        match kind {
            Kind::Red => self.red,
            Kind::WhiteOrRose => self.white,
        }
    }

    /// The usual doses and the most that is allowed, in words.
    #[must_use]
    pub fn words(&self, kind: Kind) -> String {
        let usual = match self.usual(kind) {
            Some((least, most)) => format!("usual {least} to {most} g/L in {} ({USUAL_SOURCE})", wine(kind)),
            None => format!("no usual dose in {} is published here", wine(kind)),
        };
        let most: Vec<String> =
            self.most.iter().map(|most| format!("at most {} by {}", most.g_l, most.section)).collect();
        if most.is_empty() { usual } else { format!("{usual}; {}", most.join(", ")) }
    }

    /// What is to be said of a dose, g/L: above what rules allow, above or below what is usual; nothing of a usual one.
    #[must_use]
    pub fn word_on(&self, dose_g_l: f64, kind: Kind) -> Option<String> {
        let name = self.name;
        let beyond: Vec<String> = self
            .most
            .iter()
            .filter(|most| dose_g_l > most.g_l)
            .map(|most| format!("{} g/L of {}", most.g_l, most.section))
            .collect();
        if !beyond.is_empty() {
            return Some(format!("{dose_g_l} g/L of {name} is more than the {}.", beyond.join(" and the ")));
        }
        let (least, most) = self.usual(kind)?;
        let side = if dose_g_l > most {
            "above"
        } else if dose_g_l < least {
            "below"
        } else {
            return None;
        };
        Some(format!(
            "{dose_g_l} g/L of {name} is {side} the usual {least} to {most} g/L in {} ({USUAL_SOURCE}).",
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
        let name = |text: &str| Agent::named(text).map(|agent| agent.name);
        assert_eq!(
            [name(" Gelatine "), name("pvpp"), name("charcoal")],
            [Some("gelatin"), Some("PVPP"), Some("activated carbon")]
        );
        assert_eq!([name("SO2"), name("")], [None, None]);
        for agent in &AGENTS {
            for other in material::named(agent.name).unwrap().known.names() {
                assert_eq!(name(other), Some(agent.name));
            }
            assert!(agent.most.windows(2).all(|pair| pair[0].g_l < pair[1].g_l), "{}", agent.name);
        }
    }

    /// The table of usual doses: bentonite 250 to 500 mg/L in white, gelatin 30 to 300 in red and 15 to 150 in white.
    #[test]
    fn a_dose_is_held_against_what_is_usual() {
        let word = |name: &str, dose, kind| Agent::named(name).unwrap().word_on(dose, kind);
        assert_eq!(word("bentonite", 0.25, Kind::WhiteOrRose), None);
        assert_eq!(word("bentonite", 0.5, Kind::WhiteOrRose), None);
        assert!(word("bentonite", 0.6, Kind::WhiteOrRose).unwrap().contains("above the usual 0.25 to 0.5 g/L"));
        assert!(word("gelatin", 0.02, Kind::Red).unwrap().contains("below the usual 0.03 to 0.3 g/L in red wine"));
        assert_eq!(word("gelatin", 0.02, Kind::WhiteOrRose), None);
        assert_eq!(word("bentonite", 3.0, Kind::Red), None, "nothing is published of it");
    }

    /// 27 CFR 24.241: 25 lb/1000 gal of carbon, printed as 3.0 g/L.
    #[test]
    fn what_rules_do_not_allow_is_said_first() {
        let word = |dose| Agent::named("carbon").unwrap().word_on(dose, Kind::WhiteOrRose);
        assert_eq!(word(1.0), None);
        assert_eq!(word(2.0).unwrap(), "2 g/L of activated carbon is more than the 1 g/L of Regulation (EU) 2019/934.");
        let both = word(3.1).unwrap();
        assert!(both.contains("2019/934 and the 3 g/L of 27 CFR 24.241"), "{both}");
    }
}
