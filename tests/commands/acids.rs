//! Acidities as a house reads them: kept as tartaric and acetic, told and taken in the house's unit.

use crate::desk::Desk;

fn tank(acid: Option<&str>) -> Desk {
    let mut facts = vec![
        r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#.to_owned(),
        r#""kind":"lot_opened","lot":"A","colour":"red""#.to_owned(),
        r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#.to_owned(),
        r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#.to_owned(),
    ];
    facts.extend(acid.map(|acid| format!(r#""kind":"practice_set","acid_unit":"{acid}""#)));
    Desk::with("2026-10-20", &facts)
}

/// 0.049, 0.060 and 0.075 g a milliequivalent (OIV-MA-AS313-01, 313-02): 0.74 g/L as sulfuric are 0.906 as acetic, 3.5 are 5.357 as
/// tartaric; 1.20 g/L, the limit of the EU for red wine, is 0.98.
#[test]
fn a_house_that_reads_sulfuric_is_told_and_tells_sulfuric() {
    let desk = tank(Some("sulfuric"));
    let told = desk.told(&["test", "T1", "va=0.74", "ta=3.5"]);
    assert_eq!(told, "T1: titratable acidity 3.5 g/L as sulfuric, volatile acidity 0.74 g/L as sulfuric\n");
    assert!(desk.told(&["export"]).contains(r#""ta_g_l":5.357,"va_g_l":0.906"#));
    assert!(desk.told(&["journal"]).contains("volatile acidity 0.74 g/L as sulfuric"));
    let list = desk.told(&["list", "tests"]);
    assert!(list.contains("VA H2SO4") && list.contains("0.74"), "{list}");
    let list = desk.json(&["list", "tests"]);
    assert_eq!((&list[0]["va_g_l"], &list[0]["va_h2so4_g_l"]), (&0.906.into(), &0.74.into()));
    assert!(desk.done(&["list", "tests", "--format", "csv"]).lines().next().unwrap().contains("ta_h2so4_g_l"));
    let vessel = desk.told(&["show", "vessel", "T1"]);
    assert!(
        vessel.contains("volatile acidity 0.74 g/L as sulfuric") && vessel.contains("above the alarm at 0.7"),
        "{vessel}"
    );
    let lot = desk.told(&["show", "lot", "A"]);
    assert!(lot.contains("g/L as sulfuric") && lot.contains("0.98"), "{lot}");
}

#[test]
fn a_house_that_reads_milliequivalents_is_told_them() {
    let desk = tank(Some("meq"));
    assert_eq!(
        desk.told(&["test", "T1", "va=15", "ta=72"]),
        "T1: titratable acidity 72 meq/L, volatile acidity 15 meq/L\n"
    );
    assert!(desk.told(&["export"]).contains(r#""ta_g_l":5.4,"va_g_l":0.9"#));
    desk.refused(&["test", "T1", "va=0.9 g/L"], "says not as which acid");
    desk.told(&["test", "T1", "va=0.9 g/L acetic"]);
}

#[test]
fn as_which_acid_is_asked_where_nobody_says_it() {
    let desk = tank(None);
    desk.refused(&["test", "T1", "va=0.35"], "As which acid is volatile acidity given?");
    for words in [&["va=0.35 H2SO4"][..], &["va=7.1 meq/L"], &["va=0.35", "--acid", "tartaric"], &["va=0.35", "--sure"]]
    {
        desk.told([&["test", "T1"], words].concat().as_slice());
    }
    assert!(desk.told(&["journal"]).contains("volatile acidity 0.429 g/L as acetic"));
    desk.told(&["settings", "acid unit", "sulfuric"]);
    assert!(desk.told(&["journal"]).contains("volatile acidity 0.35 g/L as sulfuric"));
    assert!(
        desk.told(&["settings", "va alarm", "0.49"]).contains("0.49 g/L H2SO4")
            || desk.told(&["settings"]).contains("0.49 g/L H2SO4")
    );
    assert!(desk.told(&["export"]).contains(r#""va_alarm_g_l":0.6"#));
}

/// 0.6 g/L as sulfuric are 0.734694 as acetic, as 12.245 meq/L are (49, 60 and 1,000 for a mole of hydrogen ions). What is written down with the
/// trial is as acetic, whatever the house reads later.
#[test]
fn a_blend_and_its_limits_are_read_in_the_unit_of_the_house() {
    let desk = tank(Some("sulfuric"));
    desk.told(&["number", "T2-T3, tank, 2000 L"]);
    desk.told(&["open-lot", "B, red, Syrah, 2026, Hillside, block Terrace: T2 1000 L"]);
    desk.told(&["test", "T1", "va=0.4"]);
    desk.told(&["test", "T2", "va=0.8", "--sure"]);
    let plan = desk.told(&["plan", "blend", "--share", "T1=50%", "--share", "T2=50%", "--into", "T3"]);
    let line = plan.lines().find(|line| line.starts_with("volatile acidity")).unwrap();
    assert_eq!(line.split_whitespace().skip(2).take(4).collect::<Vec<_>>(), ["0.6", "g/L", "as", "sulfuric"], "{plan}");
    let limited = [
        ("volatile acidity <= 0.6", "0.49 T1 + 0.98 T2 <= 0.734694"),
        ("volatile acidity <= 0.7347 g/L as acetic", "0.49 T1 + 0.98 T2 <= 0.7347"),
        ("volatile acidity <= 12.245 meq/L", "0.49 T1 + 0.98 T2 <= 0.7347"),
    ];
    for (trial, (limit, kept)) in limited.iter().enumerate() {
        desk.told(&["trial", "set", &format!("Q{trial}"), "--from", "T1,T2", "--panel", "ana", "--limit", limit]);
        assert!(desk.told(&["export"]).contains(&format!("{limit}: {kept}")), "{limit}");
    }
}
