//! `trial …`, `list trials` and `show trial`, as another program meets them.
#![allow(clippy::unwrap_used)] // in what the tests share

use std::collections::BTreeSet;
use std::fs;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with a cellar in it: 2,000 L of lot `A` in tank `T1`, 1,000 L of `B` in `T2`, 800 L of `C` in `T3`, an empty
/// tank `T9` of 3,000 L, an empty tank `T8` of 500 L; and a spreadsheet of four glasses.
struct Desk(TempDir);

const GLASSES: &str = "T1,T2,T3\n60,25,15\n50,50,0\n1,1,1\n100,,\n";

impl Desk {
    fn new() -> Desk {
        let desk = Desk(tempfile::tempdir().unwrap());
        desk.told(&["new", "c"]);
        let mut facts = vec![
            r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#
                .to_owned(),
        ];
        for (tank, litres, lot) in
            [("T1", 2_000, "A"), ("T2", 1_000, "B"), ("T3", 800, "C"), ("T9", 0, ""), ("T8", 0, "")]
        {
            let capacity = if tank == "T8" { 500 } else { 3_000 };
            facts.push(format!(
                r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":{capacity}000000"#
            ));
            if litres > 0 {
                facts.push(format!(r#""kind":"lot_opened","lot":"{lot}","colour":"red""#));
                facts.push(format!(
                    r#""kind":"wine_received","vessel":"{tank}","lot":"{lot}","parts":[{{"origin":"o","volume_ul":{litres}000000}}]"#
                ));
            }
        }
        desk.record(&facts);
        desk.file("g.csv", GLASSES);
        desk
    }

    /// A trial Q of the four glasses and a hidden repeat, for anna and ben.
    fn set() -> Desk {
        let desk = Desk::new();
        let words = "trial set Q --from T1,T2,T3 --glasses g.csv --panel anna,ben --repeats 1 --flight 3 --seed 7";
        desk.told(&words.split(' ').collect::<Vec<_>>());
        desk
    }

    fn file(&self, name: &str, text: &str) {
        fs::write(self.0.path().join(name), text).unwrap();
    }

    fn record(&self, facts: &[String]) {
        let line = |(minute, fact): (u32, &String)| {
            format!(r#"{{"at":"2026-09-01T08:{minute:02}:00+02:00","by":"mk",{fact}}}"#)
        };
        self.file("facts.jsonl", &(0..).zip(facts).map(line).collect::<Vec<_>>().join("\n"));
        self.told(&["record", "facts.jsonl"]);
    }

    fn run(&self, words: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
        command.current_dir(self.0.path()).args(words).env("BARRELWALK_CELLAR", "c").env("BARRELWALK_BY", "mk");
        command.env("TZ", "Europe/Paris").stdin(Stdio::null()).output().unwrap()
    }

    /// What a command gives.
    #[track_caller]
    fn told(&self, words: &[&str]) -> String {
        let output = self.run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?} {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    #[track_caller]
    fn json(&self, words: &[&str]) -> Value {
        serde_json::from_str(&self.told(&[words, &["--format", "json"]].concat())).unwrap()
    }

    /// A command is refused; what it says.
    #[track_caller]
    fn refused(&self, words: &[&str], part: &str) -> String {
        let output = self.run(words);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), said.contains(part)), (Some(1), true), "{words:?} {said}");
        said
    }

    fn facts(&self) -> usize {
        self.told(&["export"]).lines().count()
    }

    /// Each taster's codes in their order of tasting.
    fn served(&self) -> Vec<(String, Vec<String>)> {
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        let flights = self.json(&["trial", "serve", "Q"])["flights"].as_array().unwrap().clone();
        flights
            .iter()
            .map(|flight| (text(&flight["taster"]), flight["codes"].as_array().unwrap().iter().map(text).collect()))
            .collect()
    }

    /// Every glass is scored: by each taster from 10 up in the order of tasting.
    fn scored(&self) {
        let mut lines = vec!["taster,code,score,text".to_owned()];
        for (taster, codes) in self.served() {
            lines.extend(codes.iter().zip(10..).map(|(code, score)| format!("{taster},{code},{score}.5,plum")));
        }
        self.file("scores.csv", &lines.join("\n"));
        self.told(&["trial", "scores", "Q", "scores.csv"]);
    }
}

#[test]
fn a_trial_from_the_glasses_to_the_blend() {
    let desk = Desk::set();
    assert_eq!(desk.json(&["list", "trials"])[0]["missing"], 10);
    desk.scored();
    assert_eq!(desk.json(&["trial", "missing", "Q"]).as_array().unwrap().len(), 0);
    let pulled = desk.told(&["trial", "pull", "Q"]);
    assert!(pulled.contains("The key is the one that was sealed.") && pulled.contains("salt: "), "{pulled}");

    let card = desk.json(&["show", "trial", "Q"]);
    let glasses = card["glasses"].as_array().unwrap();
    assert_eq!((glasses.len(), card["ratings"].as_array().unwrap().len()), (5, 10));
    let means: Vec<f64> = glasses.iter().map(|glass| glass["mean_score"].as_f64().unwrap()).collect();
    assert!(means.windows(2).all(|pair| pair[0] >= pair[1]), "{means:?}");
    let sixty = |glass: &&Value| glass["shares_ppm"][0] == 600_000;
    let code = glasses.iter().find(sixty).unwrap()["code"].as_str().unwrap();

    let words = ["trial", "blend", "Q", "--code", code, "--into", "T9", "--litres", "1000", "--lot", "N"];
    let blend = desk.json(&words);
    let planned: Vec<u64> =
        blend["transfers"].as_array().unwrap().iter().map(|it| it["volume_ul"].as_u64().unwrap()).collect();
    assert_eq!(planned, [600_000_000, 250_000_000, 150_000_000]);
    let chosen = &desk.json(&["show", "trial", "Q"])["chosen"][0];
    assert_eq!((&chosen["lot"], &chosen["work"], &chosen["code"]), (&"N".into(), &"blend N".into(), &code.into()));
}

#[test]
fn the_sealed_text_gives_the_digest_that_was_printed_when_the_trial_was_set() {
    use sha2::{Digest, Sha256};
    let desk = Desk::new();
    let words = "trial set Q --from T1,T2,T3 --glasses g.csv --panel anna";
    let said = desk.told(&words.split(' ').collect::<Vec<_>>());
    let printed = said.split("SHA-256 ").nth(1).unwrap().trim();
    desk.refused(&["trial", "seal", "Q"], "its key is sealed");
    desk.told(&["trial", "pull", "Q", "--incomplete"]);
    let text = desk.told(&["trial", "seal", "Q"]);
    let digest = Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().concat();
    assert_eq!(digest, printed);
    for page in [&["trial", "pour", "Q"], &["trial", "serve", "Q"]] {
        assert!(desk.told(page).contains(printed), "{page:?}");
    }
}

/// Nothing that tells the key of an open trial: no share, no repeat, no seed, no salt.
#[test]
fn no_reading_command_tells_the_key_of_an_open_trial() {
    let desk = Desk::set();
    desk.scored();
    let export = desk.told(&["export"]);
    let set = export.lines().find(|line| line.contains("trial_set")).unwrap();
    let set: Value = serde_json::from_str(set).unwrap();
    let salt = set["salt"].as_str().unwrap();
    let secrets = [salt, "600000,250000", "T1 60.0", "T1 33.3", "\"seed\":7", "\"repeat_of\":\"", "the same as"];
    let commands: &[&[&str]] = &[
        &["list", "trials"],
        &["show", "trial", "Q"],
        &["trial", "serve", "Q"],
        &["trial", "missing", "Q"],
        &["list", "discrepancies"],
        &["list", "lots"],
        &["list", "vessels"],
        &["show", "vessel", "T1"],
        &["show", "lot", "A"],
        &["trace", "vessel", "T1", "--forward"],
        &["claims", "vessel", "T1"],
        &["ledger", "--from", "2026-09-01", "--to", "2026-09-02", "--by", "vessel"],
    ];
    for command in commands {
        for format in ["table", "csv", "json"] {
            let told = desk.told(&[command, &["--format", format][..]].concat());
            let found: Vec<&&str> = secrets.iter().filter(|secret| told.contains(**secret)).collect();
            assert!(found.is_empty(), "{command:?} {format} tells {found:?}:\n{told}");
        }
    }
    // The same words tell it where it may be told, so that they would have been found.
    let page = desk.told(&["trial", "pour", "Q"]);
    assert!(page.contains("the same as"), "{page}");
    assert!(page.starts_with("FOR WHOEVER POURS ONLY") && page.contains("T1 30.00 + T2 13.00 + T3 7.00"), "{page}");
    assert_eq!(desk.json(&["trial", "pour", "Q"])["only_for"], "whoever pours");
}

/// The spreadsheet has a column for every field of the JSON, under its name.
#[test]
fn spreadsheet_and_json_of_the_list_tell_the_same() {
    let desk = Desk::set();
    let csv = desk.told(&["list", "trials", "--format", "csv"]);
    let names: BTreeSet<&str> = csv.lines().next().unwrap().split(',').collect();
    let json = desk.json(&["list", "trials"]);
    let fields: BTreeSet<&str> = json[0].as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(names, fields);
}

#[test]
fn a_card_is_shown_sealed_as_of_a_time_before_it_was_pulled() {
    let desk = Desk::set();
    let lines = desk.told(&["export"]);
    let set: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    desk.told(&["trial", "pull", "Q", "--incomplete"]);
    let then = desk.json(&["show", "trial", "Q", "--on", set["at"].as_str().unwrap()]);
    assert!(then["opened"].is_null() && then["glasses"][0]["shares_ppm"].is_null(), "{then}");
}

#[test]
fn what_is_poured_sums_to_the_glasses_and_the_samples() {
    let desk = Desk::set();
    let page = desk.json(&["trial", "pour", "Q"]);
    let ul = |value: &Value| value["volume_ul"].as_u64().unwrap();
    let glasses = page["glasses"].as_array().unwrap();
    for glass in glasses {
        assert_eq!(glass["pours"].as_array().unwrap().iter().map(ul).sum::<u64>(), 50_000);
        assert_eq!(glass["times"], 2);
    }
    let samples: u64 = page["samples"].as_array().unwrap().iter().map(ul).sum();
    assert_eq!(samples, 5 * 2 * 50_000);
    desk.refused(&["trial", "pour", "Q", "--step", "3mL"], "Choose a step that divides it");
}

#[test]
fn a_rating_is_corrected_by_another() {
    let desk = Desk::set();
    let code = &desk.served()[0].1[0];
    assert_eq!(desk.told(&["trial", "rate", "Q", "anna", code, "12", "closed"]), format!("rated: anna {code}\n"));
    assert_eq!(desk.told(&["trial", "rate", "Q", "anna", code, "14,5"]), format!("corrected: anna {code}\n"));
    let ratings = desk.json(&["show", "trial", "Q"])["ratings"].clone();
    assert_eq!((ratings.as_array().unwrap().len(), &ratings[0]["score"]), (1, &14.5.into()));
    assert_eq!(desk.json(&["list", "trials"])[0]["missing"], 9);
}

#[test]
fn of_a_spreadsheet_of_scores_every_bad_line_is_named_and_nothing_taken() {
    let desk = Desk::set();
    let before = desk.facts();
    let code = &desk.served()[0].1[0];
    desk.file(
        "scores.csv",
        &format!(
            "taster;code;score;rank\nanna;{code};14,5;\nanna;{code};13;\neve;{code};12;\nben;99;12;\nben;{code};twelve;\nben;{code};21;\nben;{code};;9\nben;{code};1\n"
        ),
    );
    let said = desk.refused(&["trial", "scores", "Q", "scores.csv"], "7 lines are wrong, and nothing was taken in");
    for part in [
        &format!("line 3: anna has rated {code} in line 2 already"),
        "line 4: eve is not in the panel of 'Q'",
        "line 5: '99' is no code of a glass",
        "line 6: 'twelve' is not a number",
        "line 7: A score lies between 0 and 20",
        "line 8: A rank of 9 is out of range",
        "line 9: It has more or fewer fields",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    assert_eq!(desk.facts(), before);

    desk.file("good.csv", &format!("Taster,Code,Rank,Text\nanna,{code},1.5,\"plum, long\"\n"));
    assert_eq!(desk.told(&["trial", "scores", "Q", "good.csv", "--dry-run"]), "1 rating would be taken\n");
    assert_eq!(desk.facts(), before);
    assert_eq!(desk.told(&["trial", "scores", "Q", "good.csv"]), "1 rating taken, 9 missing\n");
    for (file, part) in [
        ("taster,score\nanna,3\n", "needs a column 'taster' and a column 'code'"),
        ("taster,code,points\nanna,417,3\n", "The column 'points' is not known"),
        ("taster,code\n", "has no rows"),
    ] {
        desk.file("bad.csv", file);
        desk.refused(&["trial", "scores", "Q", "bad.csv"], part);
    }
    desk.refused(&["trial", "scores", "Q", "nowhere.csv"], "could not be read");
}

#[test]
fn glasses_that_are_none_are_refused_and_nothing_is_set() {
    let desk = Desk::new();
    let before = desk.facts();
    let set = "trial set Q --from T1,T2 --glasses b.csv --panel anna";
    let words: Vec<&str> = set.split(' ').collect();
    for (file, part) in [
        ("T1,T2\n50,fifty\n-1,2\n0,0\n50,50\n", "3 lines are wrong"),
        ("T1,T3\n50,50\n", "The file has no column 'T2'"),
        ("T1,T2,T3\n50,50,1\n", "'T3' is none of the vessels named"),
        ("T1,T2\n", "has no rows"),
    ] {
        desk.file("b.csv", file);
        desk.refused(&words, part);
    }
    desk.file("b.csv", "T1,T2\n50,50\n");
    desk.refused(&[&words[..], &["--repeats", "2"]].concat(), "There are 1 glasses");
    desk.refused(&[&words[..], &["--available", "T1=5000"]].concat(), "are said to be there for the blend");
    desk.file("n.csv", "T1,T9\n50,50\n");
    let empty = "trial set Q --from T1,T9 --glasses n.csv --panel anna";
    desk.refused(&empty.split(' ').collect::<Vec<_>>(), "T9 holds nothing by the book");
    let dry = desk.told(&[&words[..], &["--dry-run"]].concat());
    assert!(dry.starts_with("would be set: Q: 1 glasses of"), "{dry}");
    assert_eq!(desk.facts(), before);
}

#[test]
fn a_trial_is_opened_once_and_never_closed_again() {
    let desk = Desk::set();
    let code = desk.served()[0].1[0].clone();
    desk.refused(&["trial", "pull", "Q"], "10 of 10 glasses served are not rated");
    desk.told(&["trial", "pull", "Q", "--incomplete"]);
    desk.refused(&["trial", "pull", "Q"], "is pulled already");
    desk.refused(&["trial", "rate", "Q", "anna", &code, "12"], "nothing is rated after it");
    let again = "trial set Q --from T1,T2,T3 --glasses g.csv --panel anna";
    desk.refused(&again.split(' ').collect::<Vec<_>>(), "already called 'Q'");
    // Neither the card nor the trial is taken back.
    let export = desk.told(&["export"]);
    for kind in ["card_pulled", "trial_set"] {
        let line = export.lines().find(|line| line.contains(kind)).unwrap();
        let fact: Value = serde_json::from_str(line).unwrap();
        let retracted = format!(
            r#"{{"at":{},"by":"mk","kind":"retracted","why":"?","of":{{"device":{},"n":{}}}}}"#,
            fact["at"], fact["device"], fact["n"]
        );
        desk.file("undo.jsonl", &retracted);
        desk.refused(&["record", "undo.jsonl"], "what was seen cannot be unseen");
    }
}

#[test]
fn what_cannot_be_blended_is_refused() {
    let desk = Desk::set();
    let code = desk.served()[0].1[0].clone();
    let blend = |into: &'static str, litres: &'static str| {
        ["trial", "blend", "Q", "--shares", "60,25,15", "--into", into, "--litres", litres, "--lot", "N"]
    };
    desk.refused(&blend("T9", "100"), "The card of 'Q' is not pulled yet");
    desk.told(&["trial", "pull", "Q", "--incomplete"]);
    desk.refused(&blend("T8", "600"), "T8 would hold");
    let mut beyond = blend("T9", "2000");
    beyond[4] = "1,8,1";
    desk.refused(&beyond, "T2 holds 1000 L by the book, and this blend takes");
    desk.refused(&blend("T1", "100"), "T1 gives to this blend itself");
    // A tank emptied since the samples.
    desk.file(
        "moved.jsonl",
        r#"{"at":"2026-09-02T08:00:00+02:00","by":"mk","kind":"lost","vessel":"T3","volume_ul":800000000,"cause":"spill"}"#,
    );
    desk.told(&["record", "moved.jsonl"]);
    desk.refused(&blend("T9", "100"), "T3 holds 0 L by the book, and this blend takes");
    let wrong = ["trial", "blend", "Q", "--code", "41", "--into", "T9", "--litres", "1", "--lot", "N"];
    assert_eq!(desk.run(&wrong).status.code(), Some(2));
    desk.refused(&["trial", "serve", "q"], "No trial is called 'q'. Did you mean 'Q'?");
    let both = [&blend("T9", "100")[..], &["--code", &code]].concat();
    assert_eq!(desk.run(&both).status.code(), Some(2));
}

/// Words, glasses, ratios and tasters once the card is pulled, in every form; before it nothing of them.
#[test]
fn an_opened_trial_tells_what_the_panel_says() {
    let desk = Desk::set();
    desk.scored();
    let before = desk.json(&["show", "trial", "Q"]);
    assert!(before["reading"].is_null() && before["glasses"][0]["place"].is_null(), "{before}");
    desk.refused(&["sheet", "trial", "Q"], "its key is sealed");
    desk.told(&["trial", "pull", "Q"]);

    let card = desk.json(&["show", "trial", "Q"]);
    let reading = &card["reading"];
    assert_eq!((&reading["read"], card["glasses"][0]["place"].as_u64()), (&"scores".into(), Some(1)));
    assert_eq!(reading["panel"]["tasters"].as_array().unwrap().len(), 2);
    assert!(reading["surface"]["words"][0].is_string() || reading["no_surface"].is_string(), "{reading}");
    let told = desk.told(&["show", "trial", "Q"]);
    let at = |part: &str| told.find(part).unwrap_or_else(|| panic!("{part} is missing in {told}"));
    let words = reading["panel"]["words"][0].as_str().unwrap();
    assert!(told.starts_with(&words[..20]), "{told}");
    assert!(at("Glasses, the best first") < at("Tasters") && at("Tasters") < at("salt: "));
    let csv = desk.told(&["show", "trial", "Q", "--format", "csv"]);
    assert!(csv.starts_with("taster,flight,code,holds,score,") && csv.contains("T1 60.0 + T2 25.0 + T3 15.0"), "{csv}");
    let sheet = desk.told(&["sheet", "trial", "Q"]);
    assert!(sheet.contains("Salt: ") && sheet.contains(card["digest"].as_str().unwrap()), "{sheet}");
}
