//! Gauging from the desk: `reckon barrel`, `reckon dip` and `sheet dip`, as another program meets them.

use barrelwalk::reckon::gauging::shapes;
use serde_json::Value;

use crate::anywhere::{done, json, misused, refused};
use crate::desk::Desk;

fn litres(value: &Value) -> f64 {
    value.as_f64().unwrap() / 1e6
}

/// The reference barrel by the closed formulas of its curves: parabola 228.15, ellipse 229.12, arc 228.36 L.
#[test]
fn a_barrel_by_its_sizes() {
    let sizes = ["reckon", "barrel", "--bilge", "650", "--head", "540", "--length", "770"];
    for (curve, expected) in [("parabola", 228.15), ("ellipse", 229.12), ("arc", 228.36)] {
        let told = json(&[&sizes[..], &["--curve", curve]].concat());
        assert!((litres(&told["volume_ul"]) - expected).abs() < 0.005, "{told}");
        assert_eq!(told["curve"], curve);
    }
    assert_eq!(json(&sizes)["curve"], "parabola");
    // Hutton's cask of 20, 16 and 12 inches as a parabolic spindle: 14.724 wine gallons.
    let told = json(&["reckon", "barrel", "--length", "20in", "--bilge", "16 in", "--head", "12\""]);
    assert!((litres(&told["volume_ul"]) / 3.785_411_784 - 14.724).abs() < 0.0005, "{told}");
}

/// Litres missing from the reference barrel, integrated independently: 30 mm 1.84, 50 mm 5.03, 100 mm 18.4.
#[test]
fn a_dip_and_its_inverse() {
    for (dip, expected) in [("30", 1.84), ("5 cm", 5.03), ("100mm", 18.4)] {
        let told = json(&["reckon", "dip", "--shape", "reference", "--dip", dip]);
        assert!((litres(&told["missing_ul"]) - expected).abs() < 0.006_f64.max(expected * 2e-3), "{told}");
        assert_eq!(told["missing_ul"].as_u64().unwrap() + told["volume_ul"].as_u64().unwrap(), 228_150_000);
    }
    let scaled = json(&["reckon", "dip", "--shape", "reference", "--dip", "30", "--capacity", "225"]);
    assert!((litres(&scaled["missing_ul"]) - 1.8347 * 225.0 / 228.15).abs() < 1e-3, "{scaled}");
    let back = json(&["reckon", "dip", "--shape", "reference", "--missing", "1.8347 L"]);
    assert!((back["dip_mm"].as_f64().unwrap() - 30.0).abs() < 0.011, "{back}");
    let all = json(&["reckon", "dip", "--shape", "burgundy", "--missing", "228"]);
    assert_eq!((all["dip_mm"].as_f64(), all["volume_ul"].as_u64()), (Some(666.0), Some(0)));
    let own = ["reckon", "dip", "--bilge", "650", "--head", "540", "--length", "770", "--dip", "30"];
    assert!((litres(&json(&own)["missing_ul"]) - 1.84).abs() < 0.006);
}

#[test]
fn tables_to_print() {
    insta::assert_snapshot!("sheet_bordeaux", done(&["sheet", "dip", "Bordeaux"]));
    insta::assert_snapshot!(
        "sheet_own",
        done(&[
            "sheet",
            "dip",
            "--bilge",
            "650",
            "--head",
            "540",
            "--length",
            "770",
            "--curve",
            "arc",
            "--capacity",
            "60 gal"
        ])
    );
    let desk = Desk::bare();
    desk.done(&["sheet", "dip", "bordeaux", "--out", "dip.html"]);
    let page = std::fs::read_to_string(desk.path("dip.html")).unwrap();
    assert_eq!(page, done(&["sheet", "dip", "bordeaux", "--html"]));
    assert!(page.contains("<h1>Dip table: bordeaux, 225.0 L</h1>"), "{page}");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(desk.path("dip.html")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "what is written for one person is nobody else's");
    }
    insta::assert_snapshot!("sheet_csv", done(&["sheet", "dip", "bordeaux", "--format", "csv"]));
    insta::assert_snapshot!("reckon_dip", done(&["reckon", "dip", "--shape", "bordeaux", "--dip", "30"]));
    insta::assert_snapshot!(
        "reckon_dip_csv",
        done(&["reckon", "dip", "--shape", "bordeaux", "--dip", "30", "--format", "csv"])
    );
    insta::assert_snapshot!(
        "reckon_barrel",
        done(&["reckon", "barrel", "--bilge", "650", "--head", "540", "--length", "770"])
    );
}

/// A4 and Letter hold at least 60 lines of 80 characters.
#[test]
fn every_table_fits_a_page_and_closes() {
    let large = ["--bilge", "10000", "--head", "9000", "--length", "10000"];
    let small = ["--bilge", "10", "--head", "10", "--length", "10"];
    let named: Vec<Vec<&str>> = shapes().iter().map(|shape| vec![shape.name.as_str()]).collect();
    for which in named.into_iter().chain([large.to_vec(), small.to_vec()]) {
        let words = [&["sheet", "dip"], &which[..]].concat();
        let page = done(&words);
        assert!(page.lines().count() <= 60, "{which:?}: {}", page.lines().count());
        assert!(page.lines().all(|line| line.chars().count() <= 80), "{which:?}");
        let told = json(&words);
        let dips = told["dips"].as_array().unwrap();
        let sum = |row: &Value| row["missing_ul"].as_u64().unwrap() + row["volume_ul"].as_u64().unwrap();
        assert!(dips.iter().all(|row| sum(row) == told["capacity_ul"].as_u64().unwrap()), "{which:?}");
        assert!(dips.windows(2).all(|pair| pair[0]["missing_ul"].as_u64() <= pair[1]["missing_ul"].as_u64()));
        let last = dips.last().unwrap();
        assert_eq!((&last["dip_mm"], last["volume_ul"].as_u64()), (&told["bilge_mm"], Some(0)), "{which:?}");
    }
}

#[test]
fn what_cannot_be_is_refused_with_a_sentence() {
    for (words, part) in [
        ("reckon dip --shape egg --dip 3", "No sizes are known of the shape 'egg'. Take one of reference, bordeaux,"),
        ("reckon dip --shape bordeaux --dip 700", "does not fit a barrel whose bilge is 642 mm inside"),
        ("reckon dip --shape bordeaux --dip -3", "A dip of -3 mm does not fit"),
        ("reckon dip --shape bordeaux --missing 226", "226 L cannot be missing from a barrel that holds 225 L"),
        ("reckon dip --shape bordeaux --dip 3 --capacity 0", "A barrel cannot hold nothing"),
        ("reckon barrel --bilge 540 --head 650 --length 770", "A head of 650 mm is wider than the bilge of 540 mm"),
        ("reckon barrel --bilge -650 --head 540 --length 770", "A bilge of -650 mm is out of range"),
        ("reckon barrel --bilge 650 --head 540 --length 0", "A length of 0 mm is out of range"),
        ("reckon barrel --bilge 650 --head 50 --length 300 --curve arc", "No arc of a circle bulges that much"),
        ("sheet dip egg", "or give --bilge, --head and --length"),
        ("sheet dip bordeaux --capacity 0", "A barrel cannot hold nothing"),
        ("sheet dip --vessel 0417", "and there is no such file. Name it with --cellar FILE"),
    ] {
        refused(words, part);
    }
}

#[test]
fn what_is_not_understood_is_wrong_usage() {
    for words in [
        "reckon dip --shape bordeaux --dip nan",
        "reckon dip --shape bordeaux --dip inf",
        "reckon dip --shape bordeaux --dip deep",
        "reckon dip --shape bordeaux --dip 3 --missing 2",
        "reckon dip --shape bordeaux --dip 3 --capacity -4",
        "reckon dip --shape bordeaux",
        "reckon dip --dip 3",
        "reckon barrel --bilge 650 --head 540",
        "reckon barrel --bilge 650 --head 540 --length 770 --curve straight",
        "sheet dip",
        "sheet dip --bilge 650",
        "sheet dip bordeaux --curve arc",
        "sheet dip bordeaux --vessel 0417",
        "sheet",
        "reckon",
    ] {
        misused(words, "");
    }
}

/// A barrel of the cellar by its own sizes, by its shape, and where neither is known.
#[test]
fn a_table_of_a_barrel_of_the_cellar() {
    let desk = Desk::new();
    let registered = |vessel: &str, more: &str| {
        format!(
            r#"{{"at":"2026-09-01T08:00:00+02:00","by":"mk","kind":"vessel_registered","vessel":"{vessel}","capacity_ul":226000000,{more}}}"#
        )
    };
    let own = r#""type":"barrel","shape":"bordeaux","bilge_mm":650,"head_mm":540,"length_mm":770"#;
    let facts = [
        registered("own", own),
        registered("shaped", r#""type":"barrel","shape":"Burgundy""#),
        registered("plain", r#""type":"barrel","shape":"egg""#),
        registered("T1", r#""type":"tank""#),
    ];
    desk.record(&facts);
    for (vessel, bilge, source) in [
        ("own", 650.0, "the barrel's own sizes"),
        ("shaped", 666.0, "228 L (trade descriptions)"),
        ("plain", 650.0, "the reference barrel serves"),
    ] {
        let told = desk.json(&["sheet", "dip", "--vessel", vessel]);
        assert_eq!((&told["vessel"], told["capacity_ul"].as_u64()), (&Value::from(vessel), Some(226_000_000)));
        assert_eq!(told["bilge_mm"].as_f64(), Some(bilge));
        assert!(told["source"].as_str().unwrap().contains(source), "{told}");
    }
    for (vessel, part) in [("T1", "T1 is not a lying barrel"), ("shape", "Did you mean 'shaped'?")] {
        desk.refused(&["sheet", "dip", "--vessel", vessel], part);
    }
}
