//! Claims from the desk: `claims vessel`, `claims lot`, and what `record` says of an act that costs a lot a claim.
#![allow(clippy::unwrap_used)]

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with a cellar: tank A of 100 L, of which 86 are of 2026, and tank Z of 50 L from elsewhere.
struct Cellar(TempDir);

const FACTS: &[&str] = &[
    r#""kind":"origin_declared","origin":"home","block":"Terrace","variety":"Merlot","vintage":2026,"appellation":"Varrow Valley","colour":"red","estate":true"#,
    r#""kind":"origin_declared","origin":"old","block":"Terrace","variety":"Merlot","vintage":2025,"appellation":"Varrow Valley","colour":"red","estate":true"#,
    r#""kind":"origin_declared","origin":"away","block":"Dune","variety":"Syrah","vintage":2025,"appellation":"Other Coast","colour":"red","estate":false"#,
    r#""kind":"lot_opened","lot":"L","colour":"red""#,
    r#""kind":"lot_opened","lot":"M","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"A","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"vessel_registered","vessel":"Z","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"vessel_registered","vessel":"E","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"wine_received","vessel":"A","lot":"L","parts":[{"origin":"home","volume_ul":86000000},{"origin":"old","volume_ul":14000000}]"#,
    r#""kind":"wine_received","vessel":"Z","lot":"M","parts":[{"origin":"away","volume_ul":50000000}]"#,
];

impl Cellar {
    fn new() -> Cellar {
        let cellar = Cellar(tempfile::tempdir().unwrap());
        assert!(cellar.run(&["new", "c"], "").status.success());
        let output = cellar.record(FACTS);
        assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()));
        cellar
    }

    fn run(&self, words: &[&str], input: &str) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
        command.current_dir(self.0.path()).args(words).env("BARRELWALK_CELLAR", "c").env("TZ", "Europe/Paris");
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // A program that does not read has its reasons.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        child.wait_with_output().unwrap()
    }

    fn record(&self, facts: &[&str]) -> Output {
        let line = |fact: &&str| format!(r#"{{"at":"2026-10-01T08:00:00+02:00","by":"mk",{fact}}}"#);
        self.run(&["record"], &facts.iter().map(line).collect::<Vec<_>>().join("\n"))
    }

    fn done(&self, words: &[&str]) -> String {
        let output = self.run(words, "");
        assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()), "{words:?}");
        text(&output.stdout)
    }

    fn json(&self, words: &[&str]) -> Value {
        serde_json::from_str(&self.done(&[words, &["--format", "json"]].concat())).unwrap()
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn claims_as_people_read_them() {
    let cellar = Cellar::new();
    insta::assert_snapshot!("claims_lot", cellar.done(&["claims", "lot", "L"]));
    assert_eq!(cellar.done(&["claims", "vessel", "E"]), "Vessel E holds no wine, so there is nothing to claim.\n");
}

#[test]
fn claims_as_programs_read_them() {
    let cellar = Cellar::new();
    let told = cellar.json(&["claims", "vessel", "A", "--rules", "us"]);
    assert_eq!((&told["vessel"], &told["rules"]), (&"A".into(), &"us".into()));
    let claims = told["claims"].as_array().unwrap();
    assert!(claims.iter().all(|claim| claim["rules"] == "us" && claim["of_ul"] == 100_000_000));
    assert!(told["notice"].as_str().unwrap().contains("not legal advice"));
    let vintage = claims.iter().find(|claim| claim["claim"] == "vintage" && claim["least_pct"] == 95).unwrap();
    assert_eq!((&vintage["value"], &vintage["held"]), (&"2026".into(), &false.into()));
    // 86 + 180 in 100 + 180 are 95 %.
    assert_eq!((&vintage["volume_ul"], &vintage["still_wanted_ul"]), (&86_000_000.into(), &180_000_000.into()));
    assert_eq!(vintage["may_come_in_ul"], Value::Null);
    let csv = cellar.done(&["claims", "lot", "L", "--rules", "eu", "--format", "csv"]);
    assert!(csv.starts_with("rules,claim,value,share,least_pct,held,"), "{csv}");
    // 86 of 101.176470 L are 85 %.
    assert!(csv.contains("eu,vintage,2026,0.86,85,true,86000000,100000000,1176470,"), "{csv}");
}

#[test]
fn what_is_not_there_is_a_sentence() {
    let cellar = Cellar::new();
    let output = cellar.run(&["claims", "lot", "K"], "");
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stderr).contains("No lot is called 'K'"), "{}", text(&output.stderr));
    assert_eq!(cellar.run(&["claims", "lot", "L", "--rules", "moon"], "").status.code(), Some(2));
}

#[test]
fn an_act_that_costs_a_claim_is_taken_and_said() {
    let cellar = Cellar::new();
    let moved = |ul: u64| format!(r#""kind":"wine_moved","from":"Z","to":"A","volume_ul":{ul},"purpose":"blend""#);
    let output = cellar.record(&[&moved(1_000_000)]);
    let said = text(&output.stderr);
    assert!(
        output.status.success() && said.contains("L may no longer claim estate") && !said.contains("vintage"),
        "{said}"
    );
    let output = cellar.record(&[&moved(1_000_000)]);
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(0), "1 fact taken\n"));
    let said = text(&output.stderr);
    assert!(
        said.lines().any(|line| {
            line == "barrelwalk: L may no longer claim vintage 2026 (EU 2019/33 art. 49: 85 %, then 84.31 %)."
        }),
        "{said}"
    );
}
