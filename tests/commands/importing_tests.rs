//! Spreadsheets whose lines each say a day: what a laboratory found, what was tasted, what was poured.

use serde_json::Value;

use crate::desk::Desk;

/// Two barrels, a tank and a keg with wine of the lot M25, and a tank with C25.
fn cellar() -> Desk {
    let vessel = |label: &str, kind: &str, litres: u64| {
        format!(r#""kind":"vessel_registered","vessel":"{label}","type":"{kind}","capacity_ul":{}"#, litres * 1_000_000)
    };
    let origin = |label: &str| {
        format!(
            r#""kind":"origin_declared","origin":"{label}","block":"Mill Row","variety":"Merlot","vintage":2025,"appellation":"Varrow Valley","colour":"red""#
        )
    };
    let received = |vessel: &str, lot: &str, litres: u64| {
        format!(
            r#""kind":"wine_received","vessel":"{vessel}","lot":"{lot}","parts":[{{"origin":"{lot}","volume_ul":{}}}]"#,
            litres * 1_000_000
        )
    };
    let lot = |label: &str| format!(r#""kind":"lot_opened","lot":"{label}","colour":"red""#);
    let facts = [
        vessel("0417", "barrel", 225),
        vessel("0418", "barrel", 225),
        vessel("T1", "tank", 1_000),
        vessel("T2", "tank", 1_000),
        vessel("K1", "keg", 50),
        origin("M25"),
        origin("C25"),
        lot("M25"),
        lot("C25"),
        received("0417", "M25", 224),
        received("0418", "M25", 224),
        received("T1", "M25", 500),
        received("K1", "M25", 50),
        received("T2", "C25", 500),
        r#""kind":"analyte_declared","analyte":"4-ethylphenol","unit":"µg/L","warn":425"#.to_owned(),
        r#""kind":"sampled","vessel":"0417","volume_ul":100000,"sample":"S-9""#.to_owned(),
    ];
    Desk::with("2026-09-01", &facts)
}

/// The facts of a kind, as they were entered.
fn facts(desk: &Desk, kind: &str) -> Vec<Value> {
    let lines = desk.done("export");
    let all = lines.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    all.filter(|fact| fact["kind"] == kind).collect()
}

/// What stands in a field of each of them, in a line.
fn each(desk: &Desk, kind: &str, fields: &[&str]) -> String {
    let word = |value: &Value| value.as_str().map_or_else(|| value.to_string(), ToOwned::to_owned);
    let line = |fact: Value| fields.iter().map(|field| word(&fact[*field])).collect::<Vec<_>>().join(" ");
    facts(desk, kind).into_iter().map(line).collect::<Vec<_>>().join("; ")
}

#[test]
fn a_sheet_of_a_laboratory_is_read_by_its_heads() {
    for (sheet, found) in [
        (
            "Barrel,Date,pH,Free SO2 (mg/L),Total SO2 (mg/L)\n0417,2026-09-20,3.52,24,80\n0418,2026-09-20,3.55,21.5,76\n",
            "0417 null 3.52 24.0 80.0; 0418 null 3.55 21.5 76.0",
        ),
        (
            "N° fût;Date;pH;SO2 L;SO2 T\n0417;20/09/2026;3,52;24;80\n0418;20/09/2026;3,55;21,5;76\n",
            "0417 null 3.52 24.0 80.0; 0418 null 3.55 21.5 76.0",
        ),
        (
            "Muestra;Fecha;pH;Sulfuroso libre;Sulfuroso total\n0417;20-09-2026;3,52;24;80\nS-9;20-09-2026;3,55;21,5;76\n",
            "0417 null 3.52 24.0 80.0; null null 3.55 21.5 76.0",
        ),
        ("Partita\tData\tpH\tSO2 libera\tSO2 totale\nM25\t20.09.2026\t3,52\t24\t80\n", "null M25 3.52 24.0 80.0"),
        (
            "Fass-Nr.;Datum;pH-Wert;freie SO2 [g/hL];gesamte SO2 [g/hL]\n0417;20.09.2026;3,52;2,4;8\n",
            "0417 null 3.52 24.0 80.0",
        ),
        ("Sample,Date,pH,fSO2,tSO2\n,,,g/L,mg/L\nM25,20 Sep 2026,3.52,0.024,80 mg/L\n", "null M25 3.52 24.0 80.0"),
    ] {
        let desk = cellar();
        desk.write("sheet.csv", sheet);
        desk.told("import tests sheet.csv");
        assert_eq!(
            each(&desk, "tested", &["vessel", "lot", "ph", "free_so2_mg_l", "total_so2_mg_l"]),
            found,
            "{sheet}"
        );
        assert!(facts(&desk, "tested").iter().all(|fact| fact["at"] == "2026-09-20T12:00:00+02:00"), "{sheet}");
    }
}

#[test]
fn a_test_of_a_lot_stands_at_every_vessel_of_it() {
    let desk = cellar();
    desk.write("sheet.csv", "Lot,Date,VA as acetic (g/L)\nM25,2026-09-20,0.55\n");
    assert_eq!(desk.done("import tests sheet.csv --set lab=Quillon"), "1 fact entered\n");
    let lot = desk.json("show lot M25");
    assert!(lot.to_string().contains("0.55"), "{lot}");
    assert_eq!(each(&desk, "tested", &["lot", "va_g_l", "lab"]), "M25 0.55 Quillon");
}

#[test]
fn a_sheet_on_its_side_is_turned() {
    for (sheet, said_of, malic) in [
        (
            "Laboratory of the valley\n\nLot,,M25,C25\nDate,,2026-09-20,2026-09-21\npH,,3.52,3.60\nFree SO2,mg/L,24,30\nMalic acid,g/L,<0.1,1.2\nsigned: Q.\n",
            "Kept as that bound, with these words beside it: '<0.1' of Malic acid in column ",
            "0.1",
        ),
        (
            "Analysis;M25;C25\nDate;2026-09-20;2026-09-21\npH;3,52;3,60\nSO2 L;24;30\nAcide malique;n.d.;1,2\n",
            "Left out, for it is no number: 'n.d.'",
            "null",
        ),
    ] {
        let desk = cellar();
        desk.write("sheet.csv", sheet);
        let (_, said) = desk.heard("import tests sheet.csv");
        assert!(said.contains(said_of), "{said}");
        let first = facts(&desk, "tested").remove(0);
        assert_eq!(first["note"], if malic == "null" { Value::Null } else { "malic acid <0.1".into() });
        assert_eq!(
            each(&desk, "tested", &["at", "lot", "ph", "free_so2_mg_l", "malic_g_l"]),
            format!("2026-09-20T12:00:00+02:00 M25 3.52 24.0 {malic}; 2026-09-21T12:00:00+02:00 C25 3.6 30.0 1.2")
        );
    }
    let desk = cellar();
    desk.write("sheet.csv", "Lot,M25,X25\nDate,2026-09-20,2026-09-20\npH,3.52,3.6\nFree SO2,24,30\n");
    desk.refused("import tests sheet.csv", "column 3: No vessel, lot or sample is called 'X25'.");
    let dry = desk.run("import tests sheet.csv --dry-run --format json");
    let told: Value = serde_json::from_slice(&dry.stdout).unwrap();
    assert_eq!((told["turned"].clone(), told["refused"][0]["line"].clone()), (true.into(), 3.into()));
}

#[test]
fn an_acidity_is_kept_as_its_own_acid_and_asked_where_nothing_says_as_which() {
    let acidity = |sheet: &str, words: &str| {
        let desk = cellar();
        desk.write("sheet.csv", sheet);
        desk.told(&format!("import tests sheet.csv{words}"));
        each(&desk, "tested", &["ta_g_l", "va_g_l"])
    };
    let plain = "Vessel,Date,TA,VA\n0417,2026-09-20,3.5,0.35\n";
    assert_eq!(acidity(plain, " --acid tartaric"), "3.5 0.35");
    assert_eq!(acidity(plain, " --acid sulfuric"), "5.357 0.429");
    assert_eq!(acidity("Fût;Date;AT (g/L H2SO4);AV (g/L H2SO4)\n0417;20/09/2026;3,5;0,35\n", ""), "5.357 0.429");
    assert_eq!(
        acidity("Vessel,Date,Titratable acidity as tartaric g/L,Acetic acid g/L\n0417,2026-09-20,5.4,0.35\n", ""),
        "5.4 0.35"
    );
    let desk = cellar();
    desk.write("sheet.csv", plain);
    desk.refused("import tests sheet.csv", "Is 'TA' given as tartaric or as sulfuric acid? The file does not say it. Say --acid tartaric or --acid sulfuric");
    desk.refused("import tests sheet.csv", "Is 'VA' given as acetic or as sulfuric acid?");
    assert_eq!(facts(&desk, "tested").len(), 0);
}

#[test]
fn what_the_house_declares_is_read_by_its_name() {
    let desk = cellar();
    desk.write(
        "sheet.csv",
        "Vessel,Date,4-Ethylphenol (µg/L),Remark,Bench\n0417,2026-09-20,120,ok,3\n0418,2026-09-20,0.4 mg/L,,\n",
    );
    let (_, said) = desk.heard("import tests sheet.csv");
    assert!(said.contains("Not taken in: the column 'Bench'."), "{said}");
    assert_eq!(each(&desk, "tested", &["vessel", "note"]), "0417 ok; 0418 null", "words beside it come in too");
    assert_eq!(
        each(&desk, "tested", &["vessel", "values"]),
        r#"0417 {"4-ethylphenol":120.0}; 0418 {"4-ethylphenol":400.0}"#
    );
}

/// Whoever declares it today has the results of years in a sheet.
#[test]
fn what_was_tested_before_the_house_declared_it_is_taken_too() {
    let desk = cellar();
    desk.told("declare analyte histamine --unit mg/L");
    desk.write("sheet.csv", "Vessel,Date,Histamine\n0417,2026-09-21,3\n0417,2026-09-20,2\n");
    assert_eq!(desk.done("import tests sheet.csv"), "3 facts entered\n");
    assert_eq!(desk.done("import tests sheet.csv"), "0 facts entered; 2 lines already known\n");
    assert_eq!(desk.done("list discrepancies --format json").trim(), "[]");
    desk.write("older.csv", "Vessel,Date,Histamine\n0417,2026-09-10,3\n");
    assert_eq!(desk.done("import tests older.csv"), "2 facts entered\n");
}

#[test]
fn the_same_sheet_again_adds_nothing_and_equal_lines_stay() {
    let desk = cellar();
    let sheet = "Vessel,Date,Time,pH\n0417,2026-09-20,,3.52\n0417,2026-09-20,,3.52\n0418,2026-09-20,14:30,3.6\n";
    desk.write("sheet.csv", sheet);
    assert_eq!(desk.done("import tests sheet.csv"), "3 facts entered\n");
    assert_eq!(desk.done("import tests sheet.csv"), "0 facts entered; 3 lines already known\n");
    desk.write("more.csv", &format!("{sheet}0417,2026-09-20,,3.52\n0418,2026-09-20,15:30,3.6\n"));
    assert_eq!(desk.done("import tests more.csv"), "2 facts entered; 3 lines already known\n");
    assert_eq!(facts(&desk, "tested").len(), 5);
    // What was taken back is no longer known.
    desk.told("undo");
    assert_eq!(desk.done("import tests more.csv"), "2 facts entered; 3 lines already known\n");
}

#[test]
fn what_is_of_today_is_found_again() {
    let desk = cellar();
    let today = barrelwalk::cellar::core::moment::Moment::now().date();
    desk.write("sheet.csv", &format!("Vessel,pH,Date\n0417,3.52,{today}\n"));
    assert_eq!(desk.done("import tests sheet.csv"), "1 fact entered\n");
    assert_eq!(desk.done("import tests sheet.csv"), "0 facts entered; 1 line already known\n");
}

#[test]
fn a_bad_line_is_named_by_its_number_in_every_line_end() {
    for end in ["\n", "\r\n", "\r"] {
        let sheet = [
            "Results",
            "",
            "Vessel;Date;pH",
            "0417;20.09.2026;3,52",
            "0418;20.09.2026;3,6x1",
            "0999;20.09.2026;3,5",
            "0418;;3,5",
            "0418;20.09.2026;35",
        ]
        .join(end);
        let desk = cellar();
        desk.write("sheet.csv", &sheet);
        let said = desk.refused("import tests sheet.csv", "line 5: ");
        for part in [
            "line 6: No vessel, lot or sample is called '0999'.",
            "line 7: It says no day. Say one for every line that has none, with --set date=2026-11-27.",
            "line 8: pH of 35 is out of range.",
            "4 lines cannot be taken, so nothing was entered.",
        ] {
            assert!(said.contains(part), "{part} is missing in {said}");
        }
        assert_eq!(facts(&desk, "tested").len(), 0);
    }
}

#[test]
fn what_a_sheet_does_not_say_is_asked() {
    for (sheet, question) in [
        ("Vessel,pH\n0417,3.5\n", "On which day was it? The file does not say it. Say --set date=2026-11-27"),
        ("Vessel,Date,pH\n0417,03/04/2026,3.5\n", "begin with the day or with the month?"),
        ("Vessel,Date,SO2 L\n0417,2026-09-20,\"1,125\"\n", "with a decimal point or a decimal comma?"),
        ("Date,pH\n2026-09-20,3.5\n", "Which column is the vessel? None is called so."),
        ("Vessel,Date,Remark\n0417,2026-09-20,ok\n", "Which column is the ph? None is called so."),
    ] {
        let desk = cellar();
        desk.write("sheet.csv", sheet);
        desk.refused("import tests sheet.csv", question);
    }
    let desk = cellar();
    desk.write("sheet.csv", "Date,pH\n2026-09-20,3.5\n");
    assert_eq!(desk.done("import tests sheet.csv --set lot=C25"), "1 fact entered\n");
    desk.write("own.csv", "Sample,Lot,Date,pH\n26-1,M25,2026-09-20,3.5\n");
    desk.refused("import tests own.csv", "say --column sample=0");
    assert_eq!(desk.told("import tests own.csv --column sample=0"), "1 fact entered\n");
    assert_eq!(each(&desk, "tested", &["lot"]), "C25; M25");
}

#[test]
fn tastes_are_taken_in_with_their_marks_and_tasters() {
    let desk = cellar();
    desk.write(
        "sheet.csv",
        "Barrique;Date;Note sur 20;Descripteurs;Commentaires;Dégustateur\n0417;20/09/2026;14,5;plum, a little closed;long;ana\n0418;20/09/2026;12/20;;réduit;\n0418;20/09/2026;;;;ben\n",
    );
    let (out, said) = desk.heard("import tastes sheet.csv");
    assert_eq!(out, "2 facts entered\n");
    assert!(said.contains("Nothing was tasted by the line 4."), "{said}");
    assert_eq!(
        each(&desk, "tasted", &["vessel", "score", "marks", "text", "by"]),
        r#"0417 14.5 ["plum"] a little closed. long ana; 0418 12.0 null réduit mk"#
    );
    desk.write("sheet.csv", "Barrel,Date,Score\n0417,2026-09-21,91/100\n");
    desk.refused("import tastes sheet.csv", "line 2: A score of '91 /100' is none from 0 to 20.");
    // What another taster says in the same words is no copy.
    desk.write("sheet.csv", "Barrel,Date,Score,By\n0417,2026-09-21,15,ana\n0417,2026-09-21,15,ben\n");
    assert_eq!(desk.done("import tastes sheet.csv"), "2 facts entered\n");
    desk.write("sheet.csv", "Barrel,Date,Score,By\n0417,2026-09-21,15,ben\n0417,2026-09-21,15,cleo\n");
    assert_eq!(desk.done("import tastes sheet.csv"), "1 fact entered; 1 line already known\n");
}

#[test]
fn toppings_are_taken_in_with_their_day_and_source() {
    let desk = cellar();
    desk.write("sheet.csv", "Fass;Datum;Uhrzeit;Menge (mL);voll\n0417;08.09.2026;09:15;900;ja\n0418;08.09.2026;09:20;700;nein\n0418;15.09.2026;;;\n");
    desk.refused(
        "import toppings sheet.csv",
        "From which vessel were they topped? The file does not say it. Say --set from=K1",
    );
    let (out, said) = desk.heard("import toppings sheet.csv --set from=K1");
    assert_eq!(out, "2 facts entered\n");
    assert!(said.contains("Nothing was poured by the line 4."), "{said}");
    assert_eq!(
        each(&desk, "topped", &["at", "vessel", "volume_ul", "full"]),
        "2026-09-08T09:15:00+02:00 0417 900000 true; 2026-09-08T09:20:00+02:00 0418 700000 false"
    );
    desk.write("wrong.csv", "Barrel,Date,Litres,From\n0417,2026-09-15,0.4,K9\n0418,2026-09-15,0.4,K1\n");
    desk.refused("import toppings wrong.csv", "line 2: No vessel is called 'K9'");
    let kept = desk.run("import toppings wrong.csv --keep-good");
    assert_eq!(String::from_utf8(kept.stdout).unwrap(), "1 fact entered\n");
}

#[test]
fn a_test_is_entered_in_a_line() {
    let desk = cellar();
    assert_eq!(
        desk.done("test 0417 ph=3,52 free=24 total=80 --lab Quillon --at 2026-09-20"),
        "0417: pH 3.52, free SO2 24 mg/L, total SO2 80 mg/L\n"
    );
    assert_eq!(
        desk.done(&["test", "M25", "ta=3.5 g/L", "va=0.35", "--acid", "sulfuric", "--at", "2026-09-21 08:30"]),
        "M25, in 4 vessels: titratable acidity 5.357 g/L as tartaric, volatile acidity 0.429 g/L as acetic\n"
    );
    assert_eq!(desk.done(&["test", "S-9", "4-Ethylphenol=0.4 mg/L", "--dry-run"]), "S-9: 4-ethylphenol 400 µg/L\n");
    assert_eq!(
        each(&desk, "tested", &["at", "vessel", "lot", "free_so2_mg_l", "ta_g_l", "lab"]),
        "2026-09-20T12:00:00+02:00 0417 null 24.0 null Quillon; 2026-09-21T08:30:00+02:00 null M25 null 5.357 null"
    );
    for (words, why) in [
        ("test 0999 ph=3.5", "No vessel, lot or sample is called '0999'."),
        ("test 0417 strength=3", "'strength' is nothing that is tested here"),
        ("test 0417 ph=<3", "'<3' of pH is no number."),
        ("test 0417 malic=>0.1", "'>0.1' of malic acid is no number."),
        ("test 0417 ph=3.5 pH=3.6", "'pH' is said twice."),
        ("test 0417 ph=35", "pH of 35 is out of range."),
        ("test 0417 free=24oz", "'oz' is no unit of free SO2"),
        ("test 0417 va=0.001", "If it is so, say --sure."),
        (
            "test 0417 free=240",
            "free SO2 of 240 is hardly ever found: 10 to 50 mg/L is usual. Perhaps 24 mg/L is meant.",
        ),
        ("test 0417 malic=120", "It must lie between 0 and 20 g/L. Perhaps 0.12 g/L is meant."),
        ("test 0417 ph=3.5 --at 2026-08-01", "'0417' was not there yet on 1 Aug 2026"),
        ("test 0417 ph=3.5 --at 2996-08-01", "lies in the future"),
    ] {
        desk.refused(words, why);
    }
    assert_eq!(facts(&desk, "tested").len(), 2);
    // Below what a laboratory can tell the bound is kept, and the words beside it.
    let (found, said) = desk.heard("test 0417 malic=<0.1 lactic=1.2 --at 2026-09-22");
    assert_eq!(found, "0417: malic acid 0.1 g/L, lactic acid 1.2 g/L\n");
    assert!(said.contains("malic acid <0.1 is kept as that bound, with these words beside it."), "{said}");
    assert_eq!(facts(&desk, "tested")[2]["note"], "malic acid <0.1");
}

/// What a house says of its laboratory stands for what nobody says otherwise, and is asked no more.
#[test]
fn a_house_has_its_acidities_in_one_acid() {
    let desk = cellar();
    desk.write("sheet.csv", "Barrel,Date,TA,VA\n0417,2026-09-20,3.5,0.35\n");
    desk.refused("import tests sheet.csv", "--acid");
    assert_eq!(
        desk.done("declare practice --acid-unit sulfuric --at 2026-09-20"),
        "Titratable acidity is read and written in g/L as sulfuric, volatile acidity in g/L as sulfuric.\n"
    );
    desk.done("import tests sheet.csv");
    let told = desk.done("test 0417 ta=3.5 va=0.35 --at 2026-09-21");
    assert_eq!(told, "0417: titratable acidity 3.5 g/L as sulfuric, volatile acidity 0.35 g/L as sulfuric\n");
    desk.done(&["test", "0417", "ta=5.4 g/L tartaric", "--at", "2026-09-22"]);
    desk.done("test 0417 va=0.43 --acid acetic --at 2026-09-23");
    assert_eq!(each(&desk, "tested", &["ta_g_l", "va_g_l"]), "5.357 0.429; 5.357 0.429; 5.4 null; null 0.43");
}
