//! `reckon design` as another program meets it.

use std::process::Output;

use serde_json::Value;

use crate::anywhere;
use crate::desk::text;

fn run(words: &[&str]) -> Output {
    anywhere::run(&asked(words))
}

fn done(words: &[&str]) -> String {
    anywhere::done(&asked(words))
}

fn json(words: &[&str]) -> Value {
    anywhere::json(&asked(words))
}

fn asked<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [&["reckon", "design"], words].concat()
}

/// The best six glasses of three components are the lattice of halves: det X'X 1/4096.
#[test]
fn the_lattice_of_halves_is_chosen_and_poured() {
    let design = json(&["--components", "K1,K2,K3", "--glasses", "6", "--kind", "optimal-d"]);
    let glasses = design["glasses"].as_array().unwrap();
    assert_eq!(glasses.len(), 6);
    for glass in glasses {
        let sum = |field: &str| glass[field].as_array().unwrap().iter().map(|part| part.as_u64().unwrap()).sum::<u64>();
        assert_eq!((sum("shares_ppm"), sum("pour_ul")), (1_000_000, 50_000), "{glass}");
    }
    let determinant = design["quality"]["log_determinant"].as_f64().unwrap().exp();
    assert!((determinant * 4096.0 - 1.0).abs() < 1e-5, "{design}");
    assert_eq!(design["quality"]["g_efficiency"], 1.0);
    // 50 mL alone and twice 25 mL, and a tenth more.
    assert_eq!(design["draws"][0]["draw_ul"], 110_000);
    assert_eq!(design["finished"], true);
}

/// Unless another kind is said: as many glasses as are asked for, of which one of ten stands twice and says so.
#[test]
fn glasses_asked_for_are_glasses_given() {
    let design = json(&["--components", "K1,K2,K3", "--bounds", "K1=10..60%", "--glasses", "50"]);
    let glasses = design["glasses"].as_array().unwrap();
    let shares: std::collections::HashSet<String> =
        glasses.iter().map(|glass| glass["shares_ppm"].to_string()).collect();
    let repeats = glasses.iter().filter(|glass| glass["repeat_of"].is_u64()).count();
    assert_eq!((glasses.len(), shares.len(), repeats), (50, 45, 5));
    let words = done(&["--components", "K1,K2,K3", "--glasses", "50"]).replace('\n', " ");
    assert!(
        words.contains("50 glasses of 45 different ratios, 5 of which stand twice to test the tasters."),
        "{words}"
    );
    let lattice = json(&["--components", "K1,K2,K3", "--kind", "lattice", "--steps", "10", "--bounds", "K1=10..60%"]);
    assert_eq!(lattice["glasses"].as_array().unwrap().len(), 45);
}

#[test]
fn bounds_limits_tanks_repeats_and_own_glasses_are_kept() {
    let words = [
        "--components",
        "K1,K2,K3,K4",
        "--glasses",
        "18",
        "--repeats",
        "2",
        "--bounds",
        "K1=10..60%",
        "--bounds",
        "K4=..30%",
        "--limit",
        "K1 + 0.8 K2 >= 50%",
        "--tank",
        "K3=400L",
        "--blend",
        "1000L",
        "--free-hand",
        "K1=40%, K2=40%, K4=20%",
        "--glass",
        "100mL",
        "--read",
        "1mL",
        "--kind",
        "optimal-i",
        "--seed",
        "7",
        "--tries",
        "2",
    ];
    let design = json(&words);
    assert_eq!(design, json(&words), "the same seed lays out the same");
    let glasses = design["glasses"].as_array().unwrap();
    assert_eq!(glasses.len(), 18);
    assert_eq!(glasses[0]["pour_ul"], serde_json::json!([40_000, 40_000, 0, 20_000]));
    assert!(glasses[16..].iter().all(|glass| glass["repeat_of"].is_u64()));
    for glass in glasses {
        let share = |at: usize| glass["shares_ppm"][at].as_f64().unwrap() / 1e6;
        // A millilitre of a hundred is what rounding may miss.
        assert!(share(0) >= 0.09 && share(0) <= 0.61 && share(3) <= 0.31 && share(2) <= 0.41, "{glass}");
        assert!(share(0) + 0.8 * share(1) >= 0.48, "{glass}");
    }
}

#[test]
fn people_and_spreadsheets_are_told() {
    let words = [
        "--components",
        "K1,K2,K3",
        "--kind",
        "vertices",
        "--bounds",
        "K1=..80%",
        "--bounds",
        "K2=10..95%",
        "--bounds",
        "K3=5..50%",
        "--repeats",
        "1",
        "--tasters",
        "6",
    ];
    insta::assert_snapshot!("reckon_design", done(&words));
    let short = ["--components", "K1,K2", "--kind", "lattice", "--model", "linear", "--steps", "1", "--format", "csv"];
    insta::assert_snapshot!("reckon_design_csv", done(&short));
}

#[test]
fn bad_words_are_refused_in_a_sentence() {
    for (words, told) in [
        ("--components K1", "A mixture has 2 to 10 components, not 1."),
        ("--components K1,K1", "Two components are called 'K1'"),
        ("--components K1,K2 --bounds K3=1..2%", "'K3' is none of the components K1, K2."),
        ("--components K1,K2 --bounds K1=10..60", "The least share of 'K1' is 10; a share lies between 0 and 1"),
        ("--components K1,K2 --bounds K1=1% --bounds K1=2%", "'K1' stands there twice."),
        (
            "--components K1,K2 --bounds K1=60%.. --bounds K2=50%..",
            "No mixture keeps all of these: K1 at least 60 %; K2 at least 50 %.",
        ),
        (
            "--components K1,K2 --tank K1=30L --tank K2=60L --blend 100L",
            "K1 at most 30 % (its 30 L of 100 L); K2 at most 60 % (its 60 L of 100 L)",
        ),
        ("--components K1,K2 --tank K1 --blend 100L", "'K1' is no tank's litres"),
        ("--components K1,K2 --tank K1=3L --blend 0L", "A blend of nothing needs no tanks"),
        (
            "--components K1,K2,K3 --kind optimal-d --glasses 5",
            "has 6 terms here, and 5 glasses cannot tell them apart",
        ),
        ("--components K1,K2 --glass 50 --read 0.7", "Take 49.7 mL or 50.4 mL."),
        (
            "--components K1,K2,K3 --kind lattice --bounds K1=51..52%",
            "No whole multiple of a step lies within these bounds.",
        ),
        ("--components K1,K2 --bounds K1=40%", "Bounds and limits leave one blend only"),
        ("--components K1,K2,K3 --bounds K3=0%", "'K3' is in none of the glasses."),
        (
            "--components K1,K2 --bounds K1=40..44% --glasses 20",
            "5 different blends can be poured within these bounds, and 18",
        ),
        ("--components K1,K2 --free-hand K1=50%", "sums to 50.00 %"),
        ("--components K1,K2 --spare nan", "'nan' is not a number"),
    ] {
        let output = run(&words.split(' ').collect::<Vec<_>>());
        let said = text(&output.stderr);
        assert!(said.contains(told), "{words}: {said}");
        assert!(matches!(output.status.code(), Some(1 | 2)) && output.stdout.is_empty(), "{words}");
    }
}
