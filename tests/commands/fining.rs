//! `reckon fining` as people ask for it.

use crate::anywhere;
use crate::desk::{Desk, refused};

fn asked<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [&["reckon", "fining"], words].concat()
}

/// Bentonite of 5 %: 0.5 g/L is 1 mL in a glass of 100 mL; 1 g/L in 225 L is 4.5 L, 2 % of the wine (27 CFR 24.246: 1 %).
#[test]
fn a_dose_is_scaled_to_glass_and_cellar() {
    let reckoned = |dose: &str| anywhere::json(&asked(&["--dose", dose, "--volume", "225L", "--stock", "5%"]));
    let half = reckoned("0.5g/L");
    assert_eq!((&half["stock_in_glass_ul"], &half["above_water_allowed"]), (&1_000.into(), &false.into()));
    let whole = reckoned("100 g/hL");
    assert_eq!((&whole["stock_ul"], &whole["amount_ug"]), (&4_500_000.into(), &225_000_000.into()));
    assert_eq!((&whole["above_water_allowed"], &whole["dose_lb_1000_gal"]), (&true.into(), &8.345.into()));
    let told = anywhere::done(&asked(&["--dose", "1", "--volume", "225", "--stock", "5"]));
    for part in ["27 CFR 24.246", "at least 10 %", "4 to 6"] {
        assert!(told.replace('\n', " ").contains(part), "{told}");
    }
}

#[test]
fn what_is_no_fining_is_refused() {
    for (words, code, part) in [
        (["--dose", "0", "--volume", "225", "--stock", "5"], 1, "A dose of 0 g/L"),
        (["--dose", "1", "--volume", "0", "--stock", "5"], 1, "No wine is said"),
        (["--dose", "1", "--volume", "225", "--stock", "80"], 1, "A stock of 80 %"),
        (["--dose", "1 oz/gal", "--volume", "225", "--stock", "5"], 2, "The unit 'oz/gal' is not known"),
    ] {
        refused(&anywhere::run(&asked(&words)), code, part);
    }
}

#[test]
fn a_trial_is_listed_shown_and_planned() {
    let facts = [
        r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
        r#""kind":"lot_opened","lot":"A","colour":"red""#,
        r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
        r#""kind":"fining_trial","trial":"F1","vessel":"T1","material":"bentonite","stock_pct":5,"glasses":[{"dose_g_l":0,"text":"cloudy"},{"dose_g_l":0.4,"text":"clear","turbidity_ntu":1.2}],"chosen_g_l":0.4"#,
    ];
    let desk = Desk::with("2026-11-20", &facts);
    assert!(desk.told(&["list", "finings"]).contains("bentonite"));
    assert!(desk.told(&["show", "fining", "F1"]).contains("clear"));
    let plan = desk.told_json(&["plan", "fining", "F1", "--begin", "fine T1"]);
    assert_eq!((&plan["amount_ug"], &plan["solution_ul"]), (&400_000_000.into(), &8_000_000.into()));
    assert!(
        desk.told(&["export"])
            .contains(r#""kind":"work_set","work":"fine T1","task":"treating","material":"bentonite""#)
    );
    desk.refused(&["plan", "fining", "F2"], "No fining is called 'F2'. Did you mean 'F1'?");
}

/// A trial is entered at the desk, its dose given, the lees racked off, and the wine filtered: 1,000 L, 0.5 g/L of a stock of 5 %.
fn tanks() -> Desk {
    let facts = [
        r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Chardonnay","vintage":2026,"appellation":"Hillside","colour":"white""#,
        r#""kind":"lot_opened","lot":"A","colour":"white""#,
        r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
        r#""kind":"tested","vessel":"T1","turbidity_ntu":45"#,
    ];
    Desk::with("2026-10-20", &facts)
}

#[test]
fn a_fining_is_entered_at_the_desk_from_the_glass_to_what_it_cost() {
    let desk = tanks();
    let glasses = ["--glass", "0: hazy, 45 NTU", "--glass", "0.5: clear, 8 NTU, 14.5"];
    let tried =
        [&["fining", "try", "F1", "--vessel", "T1", "--material", "bentonite", "--stock", "5%"][..], &glasses].concat();
    assert!(desk.told(&tried).contains("clear"));
    desk.refused(&tried, "A fining trial is called 'F1' already");
    desk.refused(&["fining", "give", "F1"], "No dose of the fining trial 'F1' is chosen yet");
    desk.refused(&["fining", "choose", "F1", "0.7"], "0.7 g/L was not tried");
    desk.told(&["fining", "see", "F1", "1: thin, 6 NTU"]);
    let output = desk.run(&["fining", "choose", "F1", "1"]);
    let said = String::from_utf8_lossy(&output.stderr).replace('\n', " ");
    assert!(said.contains("1 g/L of bentonite is above the usual 0.25 to 0.8 g/L in white wine"), "{said}");
    desk.told(&["fining", "choose", "F1", "50g/hL"]);
    // 0.5 g/L for 1,000 L: 500 g in 10 L of 5 %, 1 % of the wine.
    desk.told(&["fining", "give", "F1", "--batch", "24-118"]);
    assert!(desk.told(&["export"]).contains(
        r#""kind":"treated","vessel":"T1","material":"bentonite","amount_ug":500000000,"solution_ul":10000000,"purpose":"fining","batch":"24-118""#
    ));
    desk.told(&["move", "T1", "T2", "980", "--lees", "20", "--empties"]);
    let shown = desk.told_json(&["show", "fining", "F1"]);
    let given = &shown["given"][0];
    assert_eq!((&given["racked_ul"], &given["lost_ul"]), (&980_000_000.into(), &30_000_000.into()));
    assert_eq!((&given["lost_pct"], &given["batch"]), (&2.97.into(), &"24-118".into()));
    assert!(desk.told(&["trace", "material", "24-118"]).contains("T1"));
}

/// What nobody knows is asked about, answered in the same act, and taken back with it.
#[test]
fn a_material_that_nobody_knows_is_named_in_the_act_that_names_it() {
    let desk = tanks();
    let glasses = ["--glass", "0: hazy", "--glass", "0.5: clear"];
    let tried = |material: &'static str, more: &[&'static str]| {
        let words = ["fining", "try", "F1", "--vessel", "T1", "--material", material, "--stock", "5%"];
        [&words[..], &glasses, more].concat()
    };
    let asked = "'Settle 9' is not known here: is it sulfur dioxide, a fining agent, an acid, something else?";
    desk.refused(&tried("Settle 9", &[]), asked);
    desk.refused(&tried("Settle 9", &[]), "Say what it is with --is, like --is fining. If it is so, say --sure.");
    desk.refused(&tried("betonite", &["--is", "fining"]), "'betonite' is new here; bentonite is meant?");
    desk.refused(
        &tried("bentonite", &["--is", "acid"]),
        "bentonite is known here: a fining agent. Leave out what it is",
    );
    desk.refused(&tried("Settle 9", &["--is", "fining", "--so2-pct", "5"]), "sulfur");
    desk.told(&tried("Settle 9", &["--is", "fining"]));
    let facts = desk.told(&["export"]);
    let last: Vec<serde_json::Value> = facts.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let [.., declared, trial] = last.as_slice() else { panic!("{facts}") };
    assert_eq!((&declared["kind"], &trial["kind"]), (&"material_declared".into(), &"fining_trial".into()));
    assert_eq!((&declared["class"], &declared["material"]), (&"fining".into(), &"Settle 9".into()));
    assert!(declared["job"] == trial["job"] && declared["job"].is_string(), "one act, one undo: {facts}");
    // It is known now; to say so again is nothing new.
    desk.told(&["fining", "choose", "F1", "0.5"]);
    desk.told(&["fining", "give", "F1", "--is", "fining"]);
    assert_eq!(desk.told(&["export"]).matches("material_declared").count(), 1);
}

#[test]
fn a_filtration_is_listed_with_its_loss_and_turbidity() {
    let desk = tanks();
    let dry = desk.told(&["move", "T1", "T2", "--as", "filtration", "--loss", "15", "--dry-run"]);
    assert!(dry.contains("985.0 L") && desk.told(&["list", "filtrations"]).contains("No wine was filtered yet."));
    desk.refused(&["move", "T1", "T2", "--filter", "pads"], "not that it was filtered");
    desk.refused(&["move", "T1", "T1"], "cannot be filled from itself");
    desk.refused(&["move", "T2", "T1"], "T2 holds nothing by the book");
    desk.told(&["move", "T1", "T2", "--as", "filtration", "--loss", "15", "--filter", "pads, 1 µm"]);
    let listed = desk.told_json(&["list", "filtrations"]);
    let filtration = &listed[0];
    assert_eq!((&filtration["volume_ul"], &filtration["lost_ul"]), (&985_000_000.into(), &15_000_000.into()));
    assert_eq!((&filtration["lost_pct"], &filtration["filter"]), (&1.5.into(), &"pads, 1 µm".into()));
    assert_eq!(
        (&filtration["turbidity_before_ntu"], &filtration["turbidity_after_ntu"]),
        (&45.0.into(), &serde_json::Value::Null)
    );
}

/// 500 g of bentonite in 10 L of slurry into 1,000 L, then 300 mL of sulfurous acid of 5 %: 0.5 g/L, and 10.3 L of water, 1.03 %.
#[test]
fn what_was_added_to_a_wine_is_one_page() {
    let desk = tanks();
    desk.told(&["add", "T1", "500", "g", "bentonite", "--solution", "10", "--batch", "24-118"]);
    let asked = ["add", "T1", "15", "g", "SO2 5 %", "--solution", "0.3"];
    desk.refused(&asked, "The water of all additions to T1 would come to 1.03 % of the wine");
    desk.told(&[&asked[..], &["--sure"]].concat());
    for to in [["vessel", "T1"], ["lot", "A"]] {
        let page = desk.told(&[&["sheet", "additions"][..], &to].concat());
        for part in [
            "Water of all additions together: 10.3 L, 1.03 % of the wine",
            "bentonite",
            "24-118",
            "0.5 g/L",
            "For information",
        ] {
            assert!(page.contains(part), "{to:?}: no {part} in {page}");
        }
        assert!(!page.contains("allowed") && !page.contains("legal"), "{page}");
    }
    let list = desk.json(&["list", "additions"]);
    assert_eq!(
        (&list[0]["dose_g_l"], &list[0]["batch"], &list[0]["water_pct"]),
        (&0.5.into(), &"24-118".into(), &1.0.into())
    );
    assert_eq!(list[1]["water_pct"], 1.03);
    desk.refused(&["sheet", "additions", "vessel", "T99"], "No vessel is called 'T99'");
}

/// 27 CFR 24.246 counts the water of all additions together: 6 L of slurry are in the tank, 5.03 L of stock come to 1.1 %.
#[test]
fn a_fining_of_a_vessel_counts_the_water_that_was_added_before() {
    let desk = tanks();
    desk.told(&["add", "T1", "300 g", "bentonite", "--solution", "6"]);
    let asked = ["reckon", "fining", "--dose", "0.25", "--stock", "5%", "--vessel", "T1"];
    let told = desk.told_json(&asked);
    assert_eq!((&told["volume_ul"], &told["water_before_ul"]), (&1_006_000_000.into(), &6_000_000.into()));
    assert_eq!((&told["water_of_wine_pct"], &told["above_water_allowed"]), (&1.1.into(), &true.into()));
    let told = desk.told(&asked).replace('\n', " ");
    assert!(told.contains("With the water of earlier additions (0.6 %) it comes to 1.1 %"), "{told}");
    let alone = ["reckon", "fining", "--dose", "0.25", "--stock", "5%", "--volume", "1006"];
    assert_eq!(anywhere::json(&alone)["above_water_allowed"], false);
    let half = [&asked[..], &["--volume", "503"]].concat();
    assert_eq!(desk.told_json(&half)["water_before_ul"], 3_000_000);
    desk.refused(&["reckon", "fining", "--dose", "1", "--stock", "5%", "--vessel", "T9"], "No vessel is called 'T9'.");
    anywhere::misused(&["reckon", "fining", "--dose", "1", "--stock", "5%"], "--volume");
    // So does the plan of a trial.
    let glasses = ["--glass", "0: hazy", "--glass", "0.25: clear"];
    desk.told(
        [&["fining", "try", "F1", "--vessel", "T1", "--material", "bentonite", "--stock", "5%"], &glasses[..]]
            .concat()
            .as_slice(),
    );
    desk.told(&["fining", "choose", "F1", "250 ppm"]);
    let plan = desk.told_json(&["plan", "fining", "F1"]);
    assert_eq!((&plan["water_of_wine_pct"], &plan["above_water_allowed"]), (&1.1.into(), &true.into()));
}

/// 1,000 L: 30 g/hL are 300 g; 2 lb/1000 gal, which 27 CFR 24.246 prints as 0.24 g/L, 239.7 g; 25 mL/hL 250 mL.
#[test]
fn a_dose_is_worked_out_of_the_litres_that_are_there() {
    let desk = tanks();
    let dry = |words: &[&str]| desk.told([&["add", "T1"], words, &["--dry-run"]].concat().as_slice());
    for (words, told) in [
        (&["30", "g/hL", "tartaric", "acid"][..], "300 g of tartaric acid added to T1\n0.3 g/L of 1000.0 L.\n"),
        (&["30ppm", "tannin"], "30 g of tannin added to T1\n0.03 g/L of 1000.0 L.\n"),
        (&["2", "lb/1000", "gal", "bentonite"], "240 g of bentonite added to T1\n0.24 g/L of 1000.0 L.\n"),
        (&["1 oz/1000 gal", "tannin"], "7.49 g of tannin added to T1\n7.49 mg/L of 1000.0 L.\n"),
        (&["25", "mL/hL", "pectinase"], "250 mL of pectinase added to T1\n25 mL/hL of 1000.0 L.\n"),
        (&["50", "ppm", "KMBS"], "50 g of KMBS added to T1\n0.05 g/L of 1000.0 L, 29 mg/L of sulfur dioxide.\n"),
    ] {
        assert_eq!(dry(words), format!("would be entered: {told}"), "{words:?}");
    }
    desk.refused(&["add", "T1", "25 mL/hL", "tartaric acid"], "tartaric acid is weighed");
    desk.refused(&["add", "T1", "25 bags", "tannin"], "'bags' is no unit of an amount.");
    desk.refused(&["add", "T2", "30 g/hL", "tannin"], "T2 holds nothing");
    desk.refused(&["add", "T1", "25 mL/hL", "pectinase", "--solution", "1"], "The amount is a volume already");
    desk.refused(&["add", "T1", "3000 g/hL", "bentonite"], "bentonite");
    // Each vessel by its own litres.
    desk.told(&["move", "T1", "T2", "250"]);
    let told = desk.told(&["add", "T1,T2", "20 g/hL", "tartaric acid"]);
    assert!(told.contains("150 g of tartaric acid added to T1\n50 g of tartaric acid added to T2\n"), "{told}");
    assert!(told.contains("0.2 g/L of 1000.0 L in 2 vessels, 200 g in all."), "{told}");
    let facts = desk.told(&["export"]);
    assert!(facts.contains(r#""vessel":"T1","material":"tartaric acid","amount_ug":150000000"#), "{facts}");
    desk.told(&["add", "T2", "50 mL", "pectinase"]);
    assert!(desk.told(&["journal"]).contains("50 mL of pectinase added to T2"));
}

/// The same added to several vessels on one day is one line, below which they stand; what of it is sulfur dioxide stands beside the test and
/// the figures. 50 g of metabisulfite (57.6 %) in 750 L are 38.4 mg/L, and what moved along counts in both tanks.
#[test]
fn additions_are_told_by_day_and_material() {
    let desk = tanks();
    desk.told(&["move", "T1", "T2", "250"]);
    desk.told(&["add", "T1,T2", "20 g/hL", "tartaric acid"]);
    desk.told(&["add", "T1", "50 g", "KMBS"]);
    desk.told(&["test", "T1", "total=41"]);
    let page = desk.told(&["sheet", "additions", "lot", "A"]);
    let lines: Vec<String> = page.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    let stands = |part: &str| assert!(lines.iter().any(|line| line.contains(part)), "no {part} in {page}");
    stands("tartaric acid 2 vessels 200 g 0.2 g/L");
    stands("-- T1 150 g, T2 50 g");
    assert!(!page.contains("allowed"), "{page}");
    let page = desk.told(&["sheet", "additions", "vessel", "T1"]);
    let lines: Vec<String> = page.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    let stands = |part: &str| assert!(lines.iter().any(|line| line.contains(part)), "no {part} in {page}");
    stands("given over its life 38");
    stands("last total tested 41 on");
    stands("figure of the total 200");
    stands("figure of the total 350 US 27 CFR 4.22");
    stands("KMBS T1 50 g");
}

/// Of wine of organic grapes the figure of organic wine stands beside the usual one.
#[test]
fn additions_to_organic_wine_stand_beside_its_own_figure() {
    let desk = Desk::demo();
    let page = desk.told(&["sheet", "additions", "lot", "W25 Spring Garden"]);
    assert!(page.contains("EU 2019/934 Annex I B") && page.contains("EU 2021/1165 Annex V, organic"), "{page}");
    let other = desk.told(&["sheet", "additions", "lot", "V24 Varrow"]);
    assert!(!other.contains("organic"), "{other}");
}
