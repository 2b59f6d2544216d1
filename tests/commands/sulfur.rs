//! Sulfur dioxide from the desk: `reckon molecular`, `free`, `dose`, `decline` and `limits`, as another program meets them.

use serde_json::Value;

use crate::anywhere::{done, json, misused, refused};

/// OIV-MA-AS323-04C at 20 °C and 10 % vol: pH 3.0 7.61 %, 3.5 2.54 %, 3.8 1.29 %; the plain table, pK 1.81, asks for
/// 50 mg/L at pH 3.6 for 0.8 molecular.
#[test]
fn molecular_by_either_model_which_is_named() {
    for (ph, percent) in [("3.0", 7.61), ("3,5", 2.54), ("3.8", 1.29)] {
        let told = json(&format!("reckon molecular --free 30 --ph {ph} --alcohol 10 --temperature 20 --model oiv"));
        assert_eq!((&told["model"], told["molecular_pct"].as_f64()), (&Value::from("oiv"), Some(percent)), "{told}");
        assert_eq!(told["note"], Value::Null);
    }
    let plain = json("reckon molecular --free 50 --ph 3.6");
    assert_eq!((&plain["model"], plain["pk"].as_f64()), (&Value::from("plain"), Some(1.81)), "{plain}");
    assert!((plain["molecular_so2_mg_l"].as_f64().unwrap() - 0.8).abs() < 0.005, "{plain}");
}

/// Computed from both sources: 13 % vol, pH 3.6, 0.5 mg/L: 21.6 against 31.3.
#[test]
fn free_for_a_target() {
    let oiv = json("reckon free --molecular 0.5 --ph 3.6 --alcohol 13 --temperature 20 --model oiv");
    assert_eq!(oiv["free_so2_mg_l"].as_f64(), Some(21.6), "{oiv}");
    let plain = json("reckon free --molecular 0.5 --ph 3.6 --alcohol 13 --temperature 20");
    assert_eq!(plain["free_so2_mg_l"].as_f64(), Some(31.3), "{plain}");
}

/// Computed from 57.6 %: 225 L + 20 mg/L 7.81 g, or 78.1 mL of a 10 % solution; 228 L + 25 9.90 g.
#[test]
fn doses_in_every_form() {
    for (words, amount, solution) in [
        ("--volume 225L --total-rise 20", 7_812_500, None),
        ("--volume 225 --total-rise 20 --as solution", 7_812_500, Some(78_125)),
        ("--volume 225 --total-rise 20 --strength 5", 7_812_500, Some(156_250)),
        ("--volume 228 --total-rise 25", 9_895_833, None),
        ("--volume 225 --rise 20 --bound 0", 7_812_500, None),
        ("--volume 225 --rise 20", 11_718_750, None),
        ("--volume 2.25hL --total-rise 20 --as gas", 4_500_000, None),
        ("--volume 225 --total-rise 20 --as sulfur", 2_250_000, None),
        // 4.5 g of sulfur dioxide: of 5 % sulfurous acid 90 mL, of 150 g/L 30 mL, nearest to one tablet of 5 g.
        ("--volume 225 --total-rise 20 --as acid", 4_500_000, Some(90_000)),
        ("--volume 225 --total-rise 20 --as acid --label 60", 4_500_000, Some(75_000)),
        ("--volume 225 --total-rise 20 --as bisulfite --label 150", 4_500_000, Some(30_000)),
        ("--volume 225 --total-rise 20 --as tablets --tablet 5", 5_000_000, None),
    ] {
        let told = json(&format!("reckon dose {words}"));
        assert_eq!((told["amount_ug"].as_u64(), told["solution_ul"].as_u64()), (Some(amount), solution), "{told}");
        assert!(told["caution"].as_str().unwrap().contains("toxic"));
    }
}

#[test]
fn a_forecast_says_its_band_and_the_day_below_a_floor() {
    let told = json("reckon decline --tested 2026-09-01=32 --tested 2026-10-01=30 --on 2026-12-01 --floor 20");
    let number = |name: &str| told[name].as_f64().unwrap();
    assert!(number("low_mg_l") < number("free_so2_mg_l") && number("free_so2_mg_l") < number("high_mg_l"), "{told}");
    assert!(number("free_so2_mg_l") < 30.0 && number("monthly_loss_pct") > 0.0);
    let day = |name: &str| told[name].as_str().unwrap().to_owned();
    assert!(day("perhaps_below") < day("below") && day("below").as_str() > "2026-12-01", "{told}");
    let added = json("reckon decline --tested 2026-09-01=32 --added 2026-10-01=20 --on 2026-12-01");
    assert!(added["free_so2_mg_l"].as_f64().unwrap() > 40.0, "{added}");
}

/// EU 2019/934 Annex I B; US 27 CFR 4.21 and 4.22; OIV-MA-C1-01.
#[test]
fn limits_with_their_sections() {
    for (words, volatile, total, section) in [
        ("--rules eu --colour red", 1.2, 150.0, "EU 2019/934 Annex I B"),
        ("--rules eu --colour rose --sugar 5", 1.08, 250.0, "EU 2019/934 Annex I B, from 5 g/L sugar"),
        ("--rules us --colour red", 1.4, 350.0, "US 27 CFR 4.22"),
        ("--rules us --colour white", 1.2, 350.0, "US 27 CFR 4.22"),
        ("--rules oiv --colour white", 1.2, 200.0, "OIV-MA-C1-01 (OENO 9/98)"),
    ] {
        let told = json(&format!("reckon limits {words}"));
        let found = (told[0]["most"].as_f64(), told[1]["most"].as_f64(), &told[1]["section"]);
        assert_eq!(found, (Some(volatile), Some(total), &Value::from(section)), "{words}");
    }
    for (total, judgement) in [("100", "fine"), ("120", "amber"), ("150", "amber"), ("151", "red")] {
        let told = json(&format!("reckon limits --rules eu --colour red --total {total}"));
        assert_eq!(told[1]["judgement"], judgement, "{total}");
        assert_eq!(told[0]["judgement"], Value::Null);
    }
}

#[test]
fn what_people_and_spreadsheets_are_told() {
    let oiv = "reckon molecular --free 30 --ph 3.6 --alcohol 14 --temperature 15 --model oiv";
    insta::assert_snapshot!("molecular", done(oiv));
    insta::assert_snapshot!("molecular_csv", done(&format!("{oiv} --format csv")));
    insta::assert_snapshot!("dose", done("reckon dose --volume 225 --rise 20 --strength 10"));
    insta::assert_snapshot!("dose_sulfur", done("reckon dose --volume 225 --rise 20 --as sulfur"));
    insta::assert_snapshot!("dose_csv", done("reckon dose --volume 225 --rise 20 --strength 10 --format csv"));
    insta::assert_snapshot!(
        "decline",
        done(
            "reckon decline --tested 2026-09-01T00:00:00Z=32 --tested 2026-10-01T00:00:00Z=30 --on 2026-12-01T00:00:00Z --floor 20"
        )
    );
    insta::assert_snapshot!("limits", done("reckon limits --rules eu --colour red --total 140 --volatile-acidity 0.5"));
}

#[test]
fn what_cannot_be_is_refused_with_a_sentence() {
    for (words, part) in [
        ("molecular --free 30 --ph 35", "A pH of 35 is out of range"),
        ("molecular --free 30 --ph 3.5 --alcohol 140", "Alcohol of 140 % vol is out of range"),
        ("molecular --free 30 --ph 3.5 --temperature -40", "A wine of -40 °C is out of range"),
        ("molecular --free -3 --ph 3.5", "Free SO2 of -3 mg/L is out of range"),
        ("molecular --free 80 --total 30 --ph 3.5", "Free SO2 of 80 mg/L is above the total of 30 mg/L"),
        ("molecular --free 30 --ph 3.5 --model oiv", "asks for the wine's alcohol"),
        ("molecular --free 30 --ph 3.5 --model oiv --alcohol 13", "asks for the wine's temperature"),
        ("molecular --free 30 --ph 3.5 --model oiv --alcohol 21 --temperature 20", "ends at 20 % vol"),
        ("free --molecular 80 --ph 3.5", "Molecular SO2 of 80 mg/L is out of range"),
        ("dose --volume 0 --rise 20", "There is no wine to add to"),
        ("dose --volume 225 --rise 0", "A rise of the total by 0.0 mg/L is out of range"),
        ("dose --volume 225 --rise 300", "A rise of the total by 450.0 mg/L is out of range"),
        ("dose --volume 225 --rise 20 --bound 1", "A bound share of 1 is out of range"),
        ("dose --volume 225 --rise 20 --strength 80", "A solution of 80 % is out of range"),
        ("dose --volume 225 --rise 20 --as gas --strength 10", "Only a solution has a strength"),
        ("dose --volume 225 --rise 20 --as bisulfite", "How much sulfur dioxide is in a litre of it?"),
        ("dose --volume 225 --rise 20 --as acid --label 900", "A label of 900 g/L is out of range"),
        ("dose --volume 225 --rise 20 --as tablets", "How much does a tablet give?"),
        ("dose --volume 225 --rise 20 --tablet 5", "Only --as tablets goes by --tablet"),
        ("decline --tested 2026-09-01=-3", "Free SO2 of -3 mg/L is out of range"),
        ("decline --tested 2026-09-01=30 --added 2026-09-02=-3", "An addition that raised free SO2 by -3 mg/L"),
        (
            "decline --tested 2026-09-01=30 --on 2026-08-01",
            "A forecast begins with the last test or addition, 1 Sep 2026",
        ),
        ("decline --tested 2026-09-01=30 --floor -1", "Free SO2 of -1 mg/L is out of range"),
        ("limits --rules us --colour red --total -1", "A total SO2 of -1 cannot be"),
        ("limits --rules us --colour red --sugar -1", "Sugar of -1 g/L cannot be"),
    ] {
        refused(&format!("reckon {words}"), part);
    }
}

#[test]
fn what_is_not_understood_is_wrong_usage() {
    for words in [
        "molecular --free thirty --ph 3.6",
        "molecular --free nan --ph 3.6",
        "molecular --free 30",
        "molecular --free 30 --ph 3.6 --model other",
        "free --ph 3.6",
        "dose --volume 225",
        "dose --volume -225 --rise 20",
        "dose --volume 225 --rise 20 --total-rise 30",
        "dose --volume 225 --rise 20 --as pills",
        "decline",
        "decline --tested 30",
        "decline --tested soon=30",
        "limits --colour red",
        "limits --rules eu",
    ] {
        misused(&format!("reckon {words}"), "");
    }
}
