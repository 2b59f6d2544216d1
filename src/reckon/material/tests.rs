//! Every figure beside its section, and every material with what is said of it.

use super::*;
use crate::reckon::label_share::Rules;
use crate::reckon::limits::RuleSet;

fn known(name: &str) -> &'static Known {
    named(name).unwrap().known
}

fn figure(name: &str, rules: RuleSet, counted: Counted) -> Vec<f64> {
    let of_rules = |figure: &&Figure| figure.rules == rules && figure.counted == counted;
    known(name).figures().iter().filter(of_rules).map(|figure| figure.g_l).collect()
}

/// 27 CFR 24.246 as of 2015 (24.241 for carbon), as printed: carbon 25 lb/1000 gal = 3.0 g/L, polyvinylpolypyrrolidone 60 lb = 7.19,
/// silica 20 lb of a 30 % sol = 2.4 g/L = 0.72 of silica, copper 6 mg/L, tannin 0.15, citric 5.8 lb = 0.7, gum arabic 2 lb = 0.24,
/// sorbic 0.3, dimethyl dicarbonate 200 ppm, lysozyme 500 ppm, diammonium phosphate 8 lb = 0.96, thiamine 0.6 mg/L, yeast hulls 3 lb =
/// 0.36, potassium bitartrate 35 lb = 4.19. The light brine of egg white is 1.5 gal in 1000 gal: 0.3 to 0.36 g/L of white, reckoned.
#[test]
fn what_may_be_added_by_the_rules_of_the_united_states() {
    for (name, most) in [
        ("carbon", 3.0),
        ("PVPP", 7.19),
        ("silica", 0.72),
        ("kieselsol", 0.72),
        ("egg white", 0.36),
        ("copper sulfate", 0.006),
        ("copper citrate", 0.006),
        ("tannin", 0.15),
        ("citric acid", 0.7),
        ("gum arabic", 0.24),
        ("sorbic acid", 0.3),
        ("DMDC", 0.2),
        ("lysozyme", 0.5),
        ("DAP", 0.96),
        ("thiamine", 0.000_6),
        ("yeast hulls", 0.36),
        ("cream of tartar", 4.19),
    ] {
        assert_eq!(figure(name, RuleSet::Us, Counted::Added), [most], "{name}");
    }
    for known in materials() {
        for figure in known.figures().iter().filter(|figure| figure.rules == RuleSet::Us) {
            assert!(figure.section.starts_with("27 CFR 24.24") && figure.source().contains("2015"), "{}", known.name);
        }
    }
}

/// What may be left by the same: copper 0.5 mg/L, tannin 0.8 g/L in white and 3.0 in red, fumaric acid 3.0, ferrocyanide 1 ppm.
#[test]
fn what_may_be_left_by_the_rules_of_the_united_states() {
    for (name, left) in [
        ("copper sulfate", &[0.000_5][..]),
        ("tannin", &[0.8, 3.0]),
        ("fumaric acid", &[3.0]),
        ("potassium ferrocyanide", &[0.001]),
    ] {
        assert_eq!(figure(name, RuleSet::Us, Counted::Left), left, "{name}");
    }
}

/// Regulation (EU) 2019/934 and the code of the OIV: carbon 1.0 g/L, polyvinylpolypyrrolidone 0.8, chitosan 0.1, 1.0 and 5.0 by purpose
/// (Regulation (EC) 606/2009, appendix 13), copper sulfate 1 g/hL, ascorbic acid 0.25, metatartaric acid 0.1, carboxymethyl cellulose 0.2,
/// potassium polyaspartate 0.1, gum arabic 0.3, sorbic acid 0.2, dimethyl dicarbonate 0.2, lysozyme 0.5, diammonium phosphate 1.0,
/// thiamine 0.6 mg/L, yeast hulls 0.4. What was not read is said to be unverified.
#[test]
fn what_may_be_added_by_the_rules_of_the_european_union() {
    for (name, most) in [
        ("carbon", &[1.0][..]),
        ("PVPP", &[0.8]),
        ("chitosan", &[0.1, 1.0, 5.0]),
        ("copper sulfate", &[0.01]),
        ("copper citrate", &[0.01]),
        ("ascorbic acid", &[0.25]),
        ("metatartaric acid", &[0.1]),
        ("CMC", &[0.2]),
        ("potassium polyaspartate", &[0.1]),
        ("gum arabic", &[0.3]),
        ("sorbic acid", &[0.2]),
        ("DMDC", &[0.2]),
        ("lysozyme", &[0.5]),
        ("DAP", &[1.0]),
        ("thiamine", &[0.000_6]),
        ("yeast hulls", &[0.4]),
        ("ammonium bisulfite", &[0.2]),
    ] {
        assert_eq!(figure(name, RuleSet::Eu, Counted::Added), most, "{name}");
    }
    assert_eq!(figure("copper sulfate", RuleSet::Eu, Counted::Left), [0.001]);
    assert_eq!(figure("citric acid", RuleSet::Eu, Counted::Left), [1.0]);
    for (name, added) in [("carbon", 1.0), ("tartaric acid", 4.0), ("ascorbic acid", 0.25), ("fumaric acid", 0.6)] {
        assert_eq!(figure(name, RuleSet::Oiv, Counted::Added), [added], "{name}");
    }
    assert!(known("PVPP").figures()[0].source().ends_with("(unverified)"));
}

/// Copper in the pentahydrate of its sulfate: 63.546 / 249.685 = 25.45 %; in its citrate of two and a half waters: 127.09 / 360.2 = 35.3.
/// Sorbic acid in its potassium salt: 112.13 / 150.22 = 74.6 % (masses of IUPAC).
#[test]
fn what_counts_of_a_salt_is_the_share_of_its_atoms() {
    for (name, of, share) in [
        ("copper sulfate", "copper", 63.546 / 249.685),
        ("copper citrate", "copper", 127.09 / 360.2),
        ("potassium sorbate", "sorbic acid", 112.13 / 150.22),
    ] {
        assert_eq!(known(name).counts_as(), of);
        assert!((known(name).counted_share() - share).abs() < 6e-4, "{name}");
    }
}

#[test]
fn an_amount_is_within_a_figure_at_it_and_above_it_beyond() {
    let standing = |g_l: f64, rules| {
        let copper = known("copper sulfate");
        let held = copper.held_against(g_l / 0.2545, g_l, WineColour::Red, Some(rules));
        Known::above(&held).iter().map(Held::words).collect::<Vec<_>>()
    };
    assert_eq!(standing(0.006, Rules::Us), Vec::<String>::new());
    let above = standing(0.007, Rules::Us);
    assert_eq!(above, ["7 mg/L of copper is above the 6 mg/L of 27 CFR 24.246 (2015; re-issued 2022)"]);
    assert!(standing(0.002, Rules::Eu).is_empty());
    assert_eq!(
        standing(0.0051, Rules::Eu),
        ["0.02 g/L of copper sulfate is above the 0.01 g/L of Regulation (EU) 2019/934 (read)"]
    );
}

#[test]
fn of_figures_by_purpose_the_widest_tells() {
    let chitosan = known("chitosan");
    let above = |g_l| Known::above(&chitosan.held_against(g_l, g_l, WineColour::Red, None)).len();
    assert_eq!([above(0.05), above(0.5), above(4.9), above(5.1)], [0, 0, 0, 1]);
    let tannin = known("tannin");
    let perhaps = |colour| {
        let held = tannin.held_against(1.0, 1.0, colour, Some(Rules::Us));
        held.iter().filter(|it| it.standing == Standing::PerhapsLeft).count()
    };
    assert_eq!([perhaps(WineColour::White), perhaps(WineColour::Red)], [1, 0]);
}

#[test]
fn what_is_named_for_other_wines_only_is_said() {
    for (name, colour, says) in [
        ("carbon", WineColour::Red, 2),
        ("carbon", WineColour::Rose, 2),
        ("carbon", WineColour::White, 0),
        ("CMC", WineColour::Red, 1),
        ("CMC", WineColour::Rose, 0),
        ("ammonium bisulfite", WineColour::White, 1),
    ] {
        let held = known(name).held_against(0.05, 0.05, colour, Some(Rules::Eu));
        assert_eq!(Known::above(&held).len(), says, "{name} {colour:?}");
    }
}

/// Commission Implementing Regulation (EU) 203/2012 lists what stands here as listed.
#[test]
fn the_organic_lists() {
    let eu = |name: &str| known(name).organic_eu();
    for name in
        ["SO2", "KMBS", "KHSO3", "charcoal", "gelatin", "isinglass", "egg white", "casein", "K caseinate", "bentonite"]
    {
        assert_eq!(eu(name), Listed::Listed, "{name}");
    }
    for name in [
        "PVPP",
        "PVI/PVP",
        "CMC",
        "K polyaspartate",
        "DMDC",
        "lysozyme",
        "sorbic acid",
        "K sorbate",
        "copper sulfate",
        "E223",
    ] {
        assert_eq!(eu(name), Listed::NotListed, "{name}");
    }
    assert_eq!(eu("fumaric acid"), Listed::Unverified);
    for known in materials().iter().filter(|known| known.class == Class::SulfurDioxide) {
        assert_eq!(known.organic_us(), Listed::EndsOrganic, "{}", known.name);
    }
}

/// EU 1169/2011 Annex II; fish glue for fining is left out there.
#[test]
fn what_a_label_may_have_to_name() {
    let allergen = |name: &str| known(name).allergen();
    assert_eq!([allergen("albumen"), allergen("lysozyme")], [Some(Allergen::Egg); 2]);
    assert_eq!([allergen("casein"), allergen("potassium caseinate"), allergen("milk")], [Some(Allergen::Milk); 3]);
    assert_eq!([allergen("isinglass"), allergen("gelatin"), allergen("pea protein")], [None; 3]);
}

#[test]
fn what_is_said_of_a_material_is_never_that_it_may_be_used() {
    for known in materials() {
        for colour in [WineColour::Red, WineColour::Rose, WineColour::White] {
            for held in known.held_against(1.0, 1.0, colour, None) {
                let words = held.words();
                assert!(!words.contains("allowed") && !words.contains("legal"), "{words}");
            }
        }
        assert!(known.figures().iter().all(|figure| figure.g_l > 0.0 && figure.words().contains(&figure.section)));
    }
}

#[test]
fn old_powder_and_wicks_give_a_span() {
    let span = |name: &str| known(name).so2_span_pct();
    assert_eq!(span("KMBS"), Some((51.8, 57.6)));
    assert_eq!(span("sulfur disc"), Some((130.0, 200.0)));
}
