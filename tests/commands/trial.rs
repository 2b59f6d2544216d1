//! `trial …`, `list trials` and `show trial`, as another program meets them.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::desk::Desk;

/// A spreadsheet of four glasses.
const GLASSES: &str = "T1,T2,T3\n60,25,15\n50,50,0\n1,1,1\n100,,\n";

/// 2,000 L of lot `A` in tank `T1`, 1,000 L of `B` in `T2`, 800 L of `C` in `T3`, an empty tank `T9` of 3,000 L, an empty
/// tank `T8` of 500 L; and the spreadsheet.
fn desk() -> Desk {
    let mut facts = vec![
        r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#
            .to_owned(),
    ];
    for (tank, litres, lot) in [("T1", 2_000, "A"), ("T2", 1_000, "B"), ("T3", 800, "C"), ("T9", 0, ""), ("T8", 0, "")]
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
    let desk = Desk::with("2026-09-01", &facts);
    desk.write("g.csv", GLASSES);
    desk
}

/// A trial Q of the four glasses and a hidden repeat, for anna and ben.
fn set() -> Desk {
    let desk = desk();
    desk.told("trial set Q --from T1,T2,T3 --glasses g.csv --panel anna,ben --repeats 1 --flight 3 --seed 7");
    desk
}

fn facts(desk: &Desk) -> usize {
    desk.told(&["export"]).lines().count()
}

/// Each taster's codes in their order of tasting.
fn served(desk: &Desk) -> Vec<(String, Vec<String>)> {
    served_at(desk, "Q")
}

fn served_at(desk: &Desk, trial: &str) -> Vec<(String, Vec<String>)> {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let flights = desk.told_json(&["trial", "serve", trial])["flights"].as_array().unwrap().clone();
    flights
        .iter()
        .map(|flight| (text(&flight["taster"]), flight["codes"].as_array().unwrap().iter().map(text).collect()))
        .collect()
}

/// The name of a file that takes back the last fact of a kind.
fn retraction(desk: &Desk, kind: &str) -> &'static str {
    let export = desk.told(&["export"]);
    let kind = format!(r#""kind":"{kind}""#);
    let line = export.lines().rfind(|line| line.contains(&kind)).unwrap();
    let fact: Value = serde_json::from_str(line).unwrap();
    let retracted = format!(
        r#"{{"at":{},"by":"mk","kind":"retracted","why":"?","of":{{"device":{},"n":{}}}}}"#,
        fact["at"], fact["device"], fact["n"]
    );
    desk.write("undo.jsonl", &retracted);
    "undo.jsonl"
}

/// Every glass is scored: by each taster from 10 up in the order of tasting.
fn score(desk: &Desk) {
    score_of(desk, "Q");
}

fn score_of(desk: &Desk, trial: &str) {
    let mut lines = vec!["taster,code,score,text".to_owned()];
    for (taster, codes) in served_at(desk, trial) {
        lines.extend(codes.iter().zip(10..).map(|(code, score)| format!("{taster},{code},{score}.5,plum")));
    }
    desk.write("scores.csv", &lines.join("\n"));
    desk.told(&["trial", "scores", trial, "scores.csv"]);
}

#[test]
fn a_trial_from_the_glasses_to_the_blend() {
    let desk = set();
    assert_eq!(desk.told_json(&["list", "trials"])[0]["missing"], 10);
    score(&desk);
    assert_eq!(desk.told_json(&["trial", "missing", "Q"]).as_array().unwrap().len(), 0);
    let revealed = desk.told(&["trial", "reveal", "Q"]);
    assert!(revealed.contains("The key is the one that was sealed.") && revealed.contains("salt: "), "{revealed}");

    let card = desk.told_json(&["show", "trial", "Q"]);
    let glasses = card["glasses"].as_array().unwrap();
    assert_eq!((glasses.len(), card["ratings"].as_array().unwrap().len()), (5, 10));
    let means: Vec<f64> = glasses.iter().map(|glass| glass["mean_score"].as_f64().unwrap()).collect();
    assert!(means.windows(2).all(|pair| pair[0] >= pair[1]), "{means:?}");
    let sixty = |glass: &&Value| glass["shares_ppm"][0] == 600_000;
    let code = glasses.iter().find(sixty).unwrap()["code"].as_str().unwrap();

    let words = ["trial", "blend", "Q", "--code", code, "--into", "T9", "--litres", "1000", "--lot", "N"];
    let blend = desk.told_json(&words);
    let planned: Vec<u64> =
        blend["transfers"].as_array().unwrap().iter().map(|it| it["volume_ul"].as_u64().unwrap()).collect();
    assert_eq!(planned, [600_000_000, 250_000_000, 150_000_000]);
    let chosen = &desk.told_json(&["show", "trial", "Q"])["chosen"][0];
    assert_eq!((&chosen["lot"], &chosen["work"], &chosen["code"]), (&"N".into(), &"blend N".into(), &code.into()));
}

#[test]
fn a_held_wine_of_a_trial_is_blended_for_a_reason_that_is_kept() {
    let desk = set();
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
    desk.write(
        "held.jsonl",
        r#"{"at":"2026-11-21T08:00:00+01:00","by":"mk","kind":"held","vessel":"T2","why":"film"}"#,
    );
    desk.told(&["record", "held.jsonl"]);
    let words = |more: &[&'static str]| {
        let blend = ["trial", "blend", "Q", "--shares", "60,25,15", "--into", "T9", "--lot", "N", "--litres", "1000"];
        [&blend[..], more].concat()
    };
    let bars = "T2 is held: film. Free it first, or say why it is done despite the hold";
    desk.refused(&words(&[]), bars);
    desk.refused(&words(&["--dry-run"]), bars);
    let despite = ["--despite", "the film was skimmed"];
    let dry = desk.told(&words(&[&despite[..], &["--dry-run"]].concat()));
    assert!(dry.contains("held and blended all the same") && dry.contains("film"), "{dry}");
    desk.told(&words(&despite));
    let facts = desk.told(&["export"]);
    let chosen = facts.lines().find(|line| line.contains(r#""kind":"blend_chosen""#)).unwrap();
    assert!(chosen.contains(r#""despite":"the film was skimmed""#), "{chosen}");
    assert_eq!(desk.told_json(&["list", "discrepancies"]).as_array().unwrap().len(), 0);
}

#[test]
fn the_largest_blend_is_told_before_it_begins_and_how_it_stands_while_it_is_made() {
    let desk = set();
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
    let words = |more: &[&'static str]| {
        let blend = ["trial", "blend", "Q", "--shares", "60,25,15", "--into", "T9", "--lot", "N", "--keep", "T1=500L"];
        [&blend[..], more].concat()
    };
    // T1 has 1,500 L to give, so that 2,500 L can be made; T1 gives out and goes first, then T2, then T3.
    let before = facts(&desk);
    let dry = desk.told(&words(&["--largest", "--dry-run"]));
    for part in ["2500.0 L in T9", "It is the most: T1 gives out.", "what its label could say", "Nothing is begun"] {
        assert!(dry.contains(part), "{part}: {dry}");
    }
    assert_eq!(facts(&desk), before);
    let blend = desk.told_json(&words(&["--tolerance", "2%", "--litres", "2000"]));
    let order: Vec<&str> =
        blend["transfers"].as_array().unwrap().iter().map(|it| it["vessel"].as_str().unwrap()).collect();
    assert_eq!((order, &blend["work"]), (vec!["T1", "T2", "T3"], &"blend N".into()));

    // 3 % too much of T1: 1,236 L.
    let export = desk.told(&["export"]);
    let chosen = export.lines().find(|line| line.contains("blend_chosen")).unwrap();
    let at = serde_json::from_str::<Value>(chosen).unwrap()["at"].clone();
    let moved = format!(
        r#"{{"at":{at},"by":"mk","kind":"wine_moved","from":"T1","to":"T9","volume_ul":1236000000,"purpose":"blend","lot":"N"}}"#
    );
    desk.write("moved.jsonl", &moved);
    desk.told(&["record", "moved.jsonl"]);
    let stands = &desk.told_json(&["show", "trial", "Q"])["chosen"][0]["blend"];
    let still: Vec<&Value> = stands["wines"].as_array().unwrap().iter().map(|wine| &wine["still_ul"]).collect();
    assert_eq!(still, [&Value::from(0), &515_000_000.into(), &309_000_000.into()], "{stands}");
    assert_eq!((&stands["tolerance_ppm"], &stands["comes_to_ul"]), (&20_000.into(), &2_060_000_000_u64.into()));
    let listed = desk.told(&["list", "works"]);
    assert!(listed.contains("T1 100/60, T2 0/25, T3 0/15"), "{listed}");
    let csv = desk.told(&["list", "works", "--format", "csv"]);
    assert!(
        csv.starts_with("work,task,begun,ended,done,of,skipped,moved_l,to_come_l\n\"blend N\",\"blending\","),
        "{csv}"
    );
    let card = desk.told(&["show", "work", "blend N"]);
    assert!(card.contains("T1: 100%, 40 points above the 60% chosen, beyond the 2 points allowed."), "{card}");
    let order = desk.told(&["sheet", "work", "blend N"]);
    assert!(order.contains("Blend order: blend N") && order.contains("signed ____"), "{order}");
    desk.refused(&["show", "work", "blend M"], "Did you mean 'blend N'?");
    desk.refused(&words(&["--litres", "100"]), "not in the ratio");
}

#[test]
fn the_sealed_text_gives_the_digest_that_was_printed_when_the_trial_was_set() {
    use sha2::{Digest, Sha256};
    let desk = desk();
    let words = "trial set Q --from T1,T2,T3 --glasses g.csv --panel anna";
    let said = desk.told(words);
    let printed = said.split("SHA-256 ").nth(1).unwrap().trim();
    desk.refused(&["trial", "seal", "Q"], "is sealed until it is revealed");
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
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
    let desk = set();
    score(&desk);
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
    assert!(page.starts_with("FOR WHOEVER POURS ONLY") && page.contains("T1 30.00 + T2 12.50 + T3 7.50"), "{page}");
    assert_eq!(desk.told_json(&["trial", "pour", "Q"])["only_for"], "whoever pours");
}

/// The spreadsheet has a column for every field of the JSON, under its name.
#[test]
fn spreadsheet_and_json_of_the_list_tell_the_same() {
    let desk = set();
    let csv = desk.told(&["list", "trials", "--format", "csv"]);
    let names: BTreeSet<&str> = csv.lines().next().unwrap().split(',').collect();
    let json = desk.told_json(&["list", "trials"]);
    let fields: BTreeSet<&str> =
        json[0].as_object().unwrap().keys().map(|name| if name == "glass_ul" { "glass_l" } else { name }).collect();
    assert_eq!(names, fields);
}

#[test]
fn a_card_is_shown_sealed_as_of_a_time_before_it_was_revealed() {
    let desk = set();
    let lines = desk.told(&["export"]);
    let set: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
    let then = desk.told_json(&["show", "trial", "Q", "--on", set["at"].as_str().unwrap()]);
    assert!(then["opened"].is_null() && then["glasses"][0]["shares_ppm"].is_null(), "{then}");
}

#[test]
fn what_is_poured_sums_to_the_glasses_and_the_samples() {
    let desk = set();
    let page = desk.told_json(&["trial", "pour", "Q"]);
    let ul = |value: &Value| value["volume_ul"].as_u64().unwrap();
    let glasses = page["glasses"].as_array().unwrap();
    for glass in glasses {
        assert_eq!(glass["pours"].as_array().unwrap().iter().map(ul).sum::<u64>(), 50_000);
        assert_eq!(glass["times"], 2);
    }
    let samples: u64 = page["samples"].as_array().unwrap().iter().map(ul).sum();
    assert_eq!(samples, 5 * 2 * 50_000);
    desk.refused(&["trial", "pour", "Q", "--read", "3mL"], "A glass of 50 mL is no whole number of steps of 3 mL");
    // A tenth is spare, rounded up to what is drawn.
    let drawn = page["samples"].as_array().unwrap().iter().map(|sample| sample["draw_ul"].as_u64().unwrap());
    assert!(drawn.clone().all(|ul| ul.is_multiple_of(10_000)) && drawn.sum::<u64>() >= samples / 10 * 11);
}

#[test]
fn a_rating_is_corrected_by_another() {
    let desk = set();
    let code = &served(&desk)[0].1[0];
    assert_eq!(desk.told(&["trial", "rate", "Q", "anna", code, "12", "closed"]), format!("rated: anna {code}\n"));
    assert_eq!(desk.told(&["trial", "rate", "Q", "anna", code, "14,5"]), format!("corrected: anna {code}\n"));
    let ratings = desk.told_json(&["show", "trial", "Q"])["ratings"].clone();
    assert_eq!((ratings.as_array().unwrap().len(), &ratings[0]["score"]), (1, &14.5.into()));
    assert_eq!(desk.told_json(&["list", "trials"])[0]["missing"], 9);
}

#[test]
fn of_a_spreadsheet_of_scores_every_bad_line_is_named_and_nothing_taken() {
    let desk = set();
    let before = facts(&desk);
    let code = &served(&desk)[0].1[0];
    desk.write(
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
        "line 9: The line has 3 cells where the first line has 4",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    assert_eq!(facts(&desk), before);

    desk.write("good.csv", &format!("Taster,Code,Rank,Text\nanna,{code},1.5,\"plum, long\"\n"));
    assert_eq!(desk.told(&["trial", "scores", "Q", "good.csv", "--dry-run"]), "1 rating would be taken\n");
    assert_eq!(facts(&desk), before);
    assert_eq!(desk.told(&["trial", "scores", "Q", "good.csv"]), "1 rating taken, 9 missing\n");
    for (file, part) in [
        ("taster,score\nanna,3\n", "needs a column 'taster' and a column 'code'"),
        ("taster,code,points\nanna,417,3\n", "The column 'points' is not known"),
        ("taster,code\n", "has no rows"),
    ] {
        desk.write("bad.csv", file);
        desk.refused(&["trial", "scores", "Q", "bad.csv"], part);
    }
    desk.refused(&["trial", "scores", "Q", "nowhere.csv"], "could not be read");
}

#[test]
fn glasses_that_are_none_are_refused_and_nothing_is_set() {
    let desk = desk();
    let before = facts(&desk);
    let set = "trial set Q --from T1,T2 --glasses b.csv --panel anna";
    let words: Vec<&str> = set.split(' ').collect();
    for (file, part) in [
        ("T1,T2\n50,fifty\n-1,2\n0,0\n50,50\n", "3 lines are wrong"),
        ("T1,T3\n50,50\n", "The file has no column 'T2'"),
        ("T1,T2,T3\n50,50,1\n", "'T3' is none of the vessels named"),
        ("T1,T2\n", "has no rows"),
    ] {
        desk.write("b.csv", file);
        desk.refused(&words, part);
    }
    desk.write("b.csv", "T1,T2\n50,50\n");
    desk.refused(&[&words[..], &["--repeats", "2"]].concat(), "2 hidden repeats leave too few of 3 glasses");
    desk.refused(&[&words[..], &["--available", "T1=5000"]].concat(), "are said to be there for the blend");
    desk.write("n.csv", "T1,T9\n50,50\n");
    let empty = "trial set Q --from T1,T9 --glasses n.csv --panel anna";
    desk.refused(empty, "T9 holds nothing by the book");
    let dry = desk.told(&[&words[..], &["--dry-run"]].concat());
    assert!(dry.starts_with("would be set: Q: 1 glass of 50 mL, 1 taster"), "{dry}");
    assert_eq!(facts(&desk), before);
}

#[test]
fn a_trial_is_opened_once_and_never_closed_again() {
    let desk = set();
    let code = served(&desk)[0].1[0].clone();
    desk.refused(&["trial", "reveal", "Q"], "10 of 10 glasses served are not rated");
    desk.told(&["trial", "rate", "Q", "anna", &code, "11"]);
    desk.told(&["record", retraction(&desk, "glass_rated")]);
    desk.told(&["trial", "rate", "Q", "anna", &code, "12"]);
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
    desk.refused(&["trial", "reveal", "Q"], "is revealed already");
    desk.refused(&["trial", "rate", "Q", "anna", &code, "12"], "nothing is rated after it");
    let again = "trial set Q --from T1,T2,T3 --glasses g.csv --panel anna";
    desk.refused(again, "already called 'Q'");
    // Neither the reveal nor the trial is taken back, no rating either, and none that was is given back.
    for (kind, why) in [
        ("trial_revealed", "what was seen cannot be unseen"),
        ("trial_set", "what was seen cannot be unseen"),
        ("glass_rated", "no rating is taken back or given back"),
        ("retracted", "no rating is taken back or given back"),
    ] {
        desk.refused(&["record", retraction(&desk, kind)], why);
    }
}

#[test]
fn what_cannot_be_blended_is_refused() {
    let desk = set();
    let code = served(&desk)[0].1[0].clone();
    let blend = |into: &'static str, litres: &'static str| {
        ["trial", "blend", "Q", "--shares", "60,25,15", "--into", into, "--litres", litres, "--lot", "N"]
    };
    desk.refused(&blend("T9", "100"), "'Q' is not revealed yet");
    desk.told(&["trial", "reveal", "Q", "--incomplete"]);
    desk.refused(&blend("T8", "600"), "does not fit the receiving tank, which has room for 500.0 L");
    let mut beyond = blend("T9", "2000");
    beyond[4] = "1,8,1";
    desk.refused(&beyond, "cannot be made in this ratio: T2 gives out. The largest batch is 1250.0 L");
    desk.refused(&blend("T1", "100"), "T1 gives to this blend itself");
    let mut short = blend("T9", "100");
    short[4] = "60,40";
    desk.refused(&short, "There are 2 shares for the 3 components");
    let zero = [&blend("T9", "100")[..], &["--tolerance", "0%"]].concat();
    assert_eq!(desk.run(&zero).status.code(), Some(2));
    desk.refused(&[&blend("T9", "100")[..], &["--keep", "T8=1L"]].concat(), "T8 is none of the vessels of this trial");
    desk.refused(&[&blend("T9", "100")[..], &["--keep", "T3=800L"]].concat(), "800 L is to be kept back");
    // A tank emptied since the samples.
    desk.write(
        "moved.jsonl",
        r#"{"at":"2026-09-02T08:00:00+02:00","by":"mk","kind":"lost","vessel":"T3","volume_ul":800000000,"cause":"spill"}"#,
    );
    desk.told(&["record", "moved.jsonl"]);
    desk.refused(&blend("T9", "100"), "T3 holds nothing by the book, but the ratio asks for it");
    let wrong = ["trial", "blend", "Q", "--code", "41", "--into", "T9", "--litres", "1", "--lot", "N"];
    assert_eq!(desk.run(&wrong).status.code(), Some(2));
    desk.refused(&["trial", "serve", "q"], "No trial is called 'q'. Did you mean 'Q'?");
    let both = [&blend("T9", "100")[..], &["--code", &code]].concat();
    assert_eq!(desk.run(&both).status.code(), Some(2));
}

/// The tanks of [`Desk`] with tests of alcohol in two of them, and two varieties.
fn tested() -> Desk {
    let desk = desk();
    desk.record_on("2026-09-02", &[
        r#""kind":"origin_declared","origin":"m","block":"Terrace","variety":"Merlot","vintage":2025,"appellation":"Hillside","colour":"red""#.to_owned(),
        r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"m","volume_ul":500000000}]"#.to_owned(),
        r#""kind":"tested","vessel":"T1","alcohol_pct":13.0"#.to_owned(),
        r#""kind":"tested","vessel":"T2","alcohol_pct":14.5"#.to_owned(),
    ]);
    desk
}

/// What is set, with more words behind it.
fn set_words(more: &[&str]) -> Vec<String> {
    let words = "trial set Q --from T1,T2,T3 --panel anna,ben --seed 7";
    words.split(' ').chain(more.iter().copied()).map(str::to_owned).collect()
}

#[test]
fn a_design_is_laid_out_within_what_the_cellar_knows() {
    let desk = tested();
    let two = "trial set Q --from T1,T2 --panel anna,ben --seed 7 --design optimal-d --count 12 --repeats 2 --bound T1=10..80%";
    let mut words: Vec<&str> = two.split(' ').collect();
    words.extend(["--limit", "alcohol 13.2..14", "--limit", "variety Merlot >= 8%", "--litres", "1500"]);
    let before = facts(&desk);
    let dry = desk.told(&[&words[..], &["--dry-run"]].concat()).replace('\n', " ");
    for part in ["would be set: Q: 12 glasses of 50 mL", "(I)", "% of the best there can be", "draw mL", "T2"] {
        assert!(dry.contains(part), "{part} is missing in {dry}");
    }
    assert_eq!(facts(&desk), before);
    desk.told(&words);
    let set = desk.told(&["export"]);
    let set: Value = serde_json::from_str(set.lines().find(|line| line.contains("trial_set")).unwrap()).unwrap();
    assert_eq!(set["glasses"].as_array().unwrap().len(), 12);
    // 1,000 L of T2 are two thirds of the blend that is wanted; a fifth of T1 is Merlot.
    assert_eq!(set["bounds"], "T1=10..80%; T2=0..66.6666%");
    assert_eq!(set["limits"], "alcohol 13.2..14: 13.2 <= 13 T1 + 14.5 T2 <= 14; variety Merlot >= 8%: 0.2 T1 >= 0.08");
    for glass in set["glasses"].as_array().unwrap() {
        let [first, second] = [0, 1].map(|at| glass["shares_ppm"][at].as_f64().unwrap() / 1e6);
        let alcohol = 13.0 * first + 14.5 * second;
        assert!((0.4..=0.8).contains(&first) && (13.2..=14.0).contains(&alcohol), "{glass}");
        // Half a millilitre of fifty is a hundredth.
        assert_eq!(glass["shares_ppm"][0].as_u64().unwrap() % 10_000, 0);
    }
    let repeats = set["glasses"].as_array().unwrap().iter().filter(|glass| !glass["repeat_of"].is_null()).count();
    assert!(repeats >= 2, "{repeats}");
}

#[test]
fn glasses_by_free_hand_are_forced_into_a_design() {
    let desk = desk();
    let words = set_words(&["--glasses", "g.csv", "--design", "optimal-i", "--count", "11"]);
    desk.told(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let page = desk.told_json(&["trial", "pour", "Q"]);
    let poured: BTreeSet<Vec<u64>> = page["glasses"]
        .as_array()
        .unwrap()
        .iter()
        .map(|glass| glass["pours"].as_array().unwrap().iter().map(|it| it["volume_ul"].as_u64().unwrap()).collect())
        .collect();
    assert_eq!(page["glasses"].as_array().unwrap().len(), 11);
    for glass in [[30_000, 12_500, 7_500], [25_000, 25_000, 0], [17_000, 16_500, 16_500], [50_000, 0, 0]] {
        assert!(poured.contains(glass.as_slice()), "{glass:?} is missing in {poured:?}");
    }
}

/// Where nothing is said of how: a spread. Glasses of one's own are alone unless a count asks for more.
#[test]
fn a_trial_is_a_spread_unless_another_design_is_named() {
    let desk = desk();
    let told = |more: &[&str]| {
        let words = [set_words(more), vec!["--dry-run".to_owned()]].concat();
        desk.told(&words.iter().map(String::as_str).collect::<Vec<_>>()).replace('\n', " ")
    };
    let fifty = told(&["--count", "50"]);
    assert!(fifty.contains("50 glasses of 45 different ratios, 5 of which stand twice"), "{fifty}");
    assert!(told(&["--glasses", "g.csv"]).contains("would be set: Q: 4 glasses"));
    assert!(told(&["--glasses", "g.csv", "--count", "14"]).contains("14 glasses of 13 different ratios"));
}

/// Before anything is poured: how fine a difference is told, by the rule and by simulated panels, and what is to be drawn.
#[test]
fn what_a_trial_would_tell_is_said_before_it_is_set() {
    let desk = desk();
    let words = "trial plan --from T1,T2,T3 --count 12 --tasters 3 --panels 1 --bound T1=10..60%";
    let words: Vec<&str> = words.split(' ').collect();
    let told = desk.told(&words);
    for part in [
        "3 tasters and 12 glasses (36 ratings): that the best ratio is 4 points better",
        "taken to stray by 1.5 points (SD): too few hidden repeats",
        "best over worst   glasses     1 taster   >3 tasters    5 tasters    8 tasters",
        "1.1 points              6 ",
        "                      >12",
        "to draw from each vessel",
    ] {
        assert!(told.replace('\n', " ").contains(part) || told.contains(part), "{part} is missing in {told}");
    }
    let plan = desk.told_json(&[&words[..], &["--error", "1"]].concat());
    let table = plan["table"].as_array().unwrap();
    assert_eq!((plan["glasses"].as_u64(), plan["ratings"].as_u64(), table.len()), (Some(12), Some(36), 36));
    assert_eq!((plan["repeat_error"].as_f64(), plan["told_from"].as_f64()), (Some(1.0), Some(2.635)));
    assert!(table.iter().all(|row| row["panels"] == 1 && row["loses"].as_f64().unwrap() <= 1.0), "{plan}");
    let wanted = desk.told(&[&words[..], &["--litres", "2500"]].concat()).replace('\n', " ");
    assert!(wanted.contains("2500 L of blend would take, by the glass: ") && wanted.contains("of T1 ("), "{wanted}");
    let short = desk.told(&[&words[..], &["--reserve", "T3=799.9L"]].concat()).replace('\n', " ");
    assert!(short.contains("of T3 are to be drawn, and 100 mL of it are there."), "{short}");
    desk.refused(&[&words[..], &["--error", "0"]].concat(), "A rating strays by more than nothing");
}

/// A second sitting is laid out from what the first said, while that is still sealed.
#[test]
fn a_second_sitting_comes_of_what_the_first_said() {
    let desk = desk();
    let words = set_words(&["--count", "9", "--bound", "T1=10..80%"]);
    desk.told(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let second = ["trial", "set", "R", "--after", "Q", "--seed", "7"];
    desk.refused(&second, "Too little was rated of 'Q' to lay a second sitting out from");
    score(&desk);
    desk.told(&second);
    let told = desk.told(&["export"]);
    let set: Value = serde_json::from_str(told.lines().rfind(|line| line.contains("trial_set")).unwrap()).unwrap();
    assert_eq!((set["glasses"].as_array().unwrap().len(), &set["bounds"]), (6, &"T1=10..80%".into()));
    assert_eq!(set["panel"], serde_json::json!(["anna", "ben"]));
    assert_eq!(set["after"], "Q");
    let plan = desk.told(&["trial", "plan", "--after", "Q", "--count", "10", "--panels", "1"]).replace('\n', " ");
    assert!(plan.starts_with("10 glasses of a second sitting after Q: its glass that lies farthest out"), "{plan}");
    score_of(&desk, "R");
    desk.told(&["trial", "reveal", "R"]);
    let alone = desk.told(&["show", "trial", "R"]).replace('\n', " ");
    assert!(alone.contains("The sitting Q is not read with this one: its key is still sealed"), "{alone}");
    assert!(desk.told_json(&["show", "trial", "Q"])["reading"].is_null());
    desk.told(&["trial", "reveal", "Q"]);
    let together = "Read together with Q: 15 glasses in two sittings.";
    assert!(desk.told(&["show", "trial", "R"]).contains(together));
    assert!(desk.told(&["sheet", "trial", "R"]).contains(together));
    let reading = &desk.told_json(&["show", "trial", "R"])["reading"];
    assert_eq!(reading["together"], serde_json::json!(["Q"]));
    desk.refused(&["trial", "set", "S", "--after", "nothing"], "No trial is called 'nothing'");
}

#[test]
fn what_cannot_be_laid_out_is_refused_in_a_sentence() {
    let desk = tested();
    for (more, part) in [
        (
            &["--design", "optimal-d", "--limit", "alcohol 13..14"][..],
            "Nothing is known of the alcohol of T3. Have it tested",
        ),
        (&["--design", "optimal-d", "--limit", "pH 3.4..3.6"], "pH does not mix by volume"),
        (&["--design", "optimal-d", "--limit", "charm >= 3"], "'charm' is nothing that can be limited"),
        (&["--design", "optimal-d", "--limit", "variety Merlott >= 75%"], "they have"),
        (&["--design", "optimal-d", "--limit", "variety Merlot >= 75"], "'75' is no share"),
        (&["--design", "optimal-d", "--limit", "variety Merlot >= 75%"], "No mixture keeps all of these"),
        (&["--design", "optimal-d", "--bound", "T1=80..90%", "--litres", "4000"], "No mixture keeps all of these"),
        (&["--design", "optimal-d", "--litres", "0"], "A blend of nothing is no blend"),
        (&["--design", "optimal-d", "--count", "4"], "4 glasses cannot tell them apart"),
        (&["--design", "lattice", "--bound", "T1=10..30%", "--bound", "T2=..20%"], "No whole multiple of a step lies"),
        (&["--bound", "T1=20%", "--bound", "T2=30%"], "Bounds and limits leave one blend only"),
        (&["--bound", "T2=0%"], "'T2' is in none of the glasses"),
        (
            &["--bound", "T1=40..42%", "--bound", "T2=30..32%", "--count", "40"],
            "Ask for fewer glasses, loosen a bound, or read",
        ),
        (&["--design", "centroid", "--glass", "50mL", "--read", "0.3mL"], "no whole number of steps"),
        (&["--glasses", "g.csv", "--bound", "T1=..90%"], "The glass by free hand number 4 is not within bounds"),
    ] {
        let words = set_words(more);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        desk.refused(&words, part);
    }
}

#[test]
fn limits_by_vintage_block_and_wood_are_kept_as_they_came_out() {
    let desk = tested();
    let words = set_words(&[
        "--design",
        "vertices",
        "--limit",
        "vintage 2025 >= 8%",
        "--limit",
        "new wood <= 40%",
        "--limit",
        "Block Terrace 90..100%",
        "--limit",
        "T2 + T3 <= 60%",
    ]);
    desk.told(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let set = desk.told(&["export"]);
    let set: Value = serde_json::from_str(set.lines().find(|line| line.contains("trial_set")).unwrap()).unwrap();
    // None of the wines has lain in wood, so that this limit binds nothing; a sum of wines is its own words.
    let kept =
        "vintage 2025 >= 8%: 0.2 T1 >= 0.08; Block Terrace 90..100%: 0.9 <= 1 T1 + 1 T2 + 1 T3 <= 1; T2 + T3 <= 60%";
    assert_eq!(set["limits"], kept);
    assert!(set["bounds"].is_null(), "{set}");
}

/// Words, glasses, ratios and tasters once it is revealed, in every form; before it nothing of them.
#[test]
fn an_opened_trial_tells_what_the_panel_says() {
    let desk = set();
    score(&desk);
    let before = desk.told_json(&["show", "trial", "Q"]);
    assert!(before["reading"].is_null() && before["glasses"][0]["place"].is_null(), "{before}");
    desk.refused(&["sheet", "trial", "Q"], "is sealed until it is revealed");
    desk.told(&["trial", "reveal", "Q"]);

    let card = desk.told_json(&["show", "trial", "Q"]);
    let reading = &card["reading"];
    assert_eq!((&reading["read"], card["glasses"][0]["place"].as_u64()), (&"scores".into(), Some(1)));
    assert_eq!(reading["panel"]["tasters"].as_array().unwrap().len(), 2);
    assert!(reading["surface"]["words"][0].is_string() || reading["no_surface"].is_string(), "{reading}");
    let told = desk.told(&["show", "trial", "Q"]);
    let at = |part: &str| told.find(part).unwrap_or_else(|| panic!("{part} is missing in {told}"));
    // The ratio comes first, how sure it is last.
    let words = reading["surface"]["words"][0].as_str().unwrap();
    assert!(told.starts_with(&words[..20]), "{told}");
    assert!(at("Tasters") < at("How sure it is"), "{told}");
    assert!(at("Glasses, the best first") < at("Tasters") && at("Tasters") < at("salt: "));
    let csv = desk.told(&["show", "trial", "Q", "--format", "csv"]);
    assert!(csv.starts_with("taster,flight,code,holds,score,") && csv.contains("T1 60.0 + T2 25.0 + T3 15.0"), "{csv}");
    let sheet = desk.told(&["sheet", "trial", "Q"]);
    assert!(sheet.contains("Salt: ") && sheet.contains(card["digest"].as_str().unwrap()), "{sheet}");
}
