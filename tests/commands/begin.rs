//! A cellar is made and begun at the desk: without a terminal nothing is asked, and a line each brings it onto the map.

use super::desk::Desk;

#[test]
fn a_new_cellar_asks_nothing_without_a_terminal_and_makes_folders() {
    let desk = Desk::bare();
    let told = desk.done(&["new", "far/away/our.cellar"]);
    assert_eq!(told, "far/away/our.cellar is a new, empty cellar\n");
    // Where no file is named it is the one that is looked for.
    assert_eq!(desk.done(&["new"]), "c is a new, empty cellar\n");
    desk.refused(&["new"], "");
    assert_eq!(desk.done(&["export"]), "");
}

#[test]
fn whose_rules_it_keeps_to_is_a_fact() {
    let desk = Desk::bare();
    desk.done(&["new", "c", "--rules", "eu", "--by", "mk"]);
    let facts = desk.done(&["export"]);
    assert!(facts.contains(r#""kind":"practice_set""#) && facts.contains(r#""rules":"eu""#), "{facts}");
    assert_eq!(facts.lines().count(), 1);
}

#[test]
fn a_room_barrels_and_a_lot_come_in_by_a_line_each_and_go_by_one_undo() {
    let desk = Desk::new();
    let (_, said) = desk.heard(&["room", "long", "A-D, 5 stacks, 4 high, pairs"]);
    assert!(said.contains("long is laid out."), "{said}");
    let (_, said) = desk.heard(&["number", "181-210, Allier, medium, 2026"]);
    assert!(
        said.contains("30 barrels, 181 to 210: 225.0 L, Allier, medium toast, made 2026, new. From long/A-01-1-a to"),
        "{said}"
    );
    let (_, said) = desk.heard(&["open-lot", "M26, red, Syrah, 2026, Varrow Valley: row A full"]);
    assert!(said.contains("red, Syrah, 2026, Varrow Valley, block M26. 6750.0 L in 30 vessels, 181 to 210."), "{said}");
    assert!(said.contains("The last topping of these barrels is taken as not known"), "{said}");
    assert!(desk.done(&["list", "lots"]).contains("6750.0"));
    desk.refused(&["number", "300-500"], "130 free places for 201 barrels");
    desk.refused(&["number", "300-310, Trnçais"], "Tronçais for 'Trnçais'?");
    desk.refused(&["room", "long", "A, 1 stack, 1 high"], "");
    desk.told(&["undo"]);
    assert!(!desk.done(&["list", "lots", "--format", "csv"]).contains("M26"));
}

/// Wine that lies there already was topped before it came into the book: the day is said in the line, and else not known.
#[test]
fn the_day_of_a_last_topping_is_said_in_the_line_of_a_lot() {
    let desk = Desk::new();
    desk.heard(&["room", "long", "A, 2 stacks, 2 high", "--at", "2026-01-20"]);
    desk.heard(&["number", "0181-0184", "--at", "2026-01-20"]);
    let lot = "M26, red, Syrah, 2025, Varrow Valley, topped 2026-01-17: 0181-0182 full";
    let (_, said) = desk.heard(&["open-lot", lot, "--at", "2026-01-20"]);
    assert!(said.contains("Last topped on 17 Jan 2026."), "{said}");
    desk.heard(&["open-lot", "M26: 0183 full", "--at", "2026-01-20"]);
    let seen = desk.json(&["list", "vessels", "--on", "2026-01-27"]);
    let days: Vec<_> = seen.as_array().unwrap().iter().map(|vessel| vessel["days_since_full"].as_u64()).collect();
    assert_eq!(days, [Some(10), Some(10), None, None]);
    desk.refused(
        &["open-lot", "M26, topped soon: 0184 full"],
        "'topped soon' is not understood. Write topped 27 Nov 2026.",
    );
    desk.refused(&["open-lot", "M26, topped 3/4: 0184 full"], "'3/4' could be 3 Apr");
    desk.refused(&["open-lot", "M26, topped 2026-02-01: 0184 full", "--at", "2026-01-20"], "lies after 20 Jan 2026");
}

/// How volumes and dates are told is the person's own: it is kept once, and every list follows it.
#[test]
fn volumes_and_dates_are_told_as_one_is_used_to() {
    let desk = Desk::bare();
    let (_, said) = desk.heard(&["new", "c", "--volume", "gallons", "--dates", "month-first"]);
    assert!(said.contains("How volumes and dates are told to you is kept in looks.toml"), "{said}");
    desk.heard(&["room", "long", "A, 2 stacks, 2 high, pairs"]);
    // 60 gallons are 227.1 L.
    let (_, said) = desk.heard(&["number", "181-184, Allier, medium, 2026, 60 gal"]);
    assert!(said.contains("60.00 gal"), "{said}");
    desk.heard(&["open-lot", "M26, red, Syrah, 2026, Varrow Valley: 181-184 full"]);
    let lots = desk.done(&["list", "lots"]);
    assert!(lots.contains("gallons") && lots.contains("240.00") && !lots.contains("litres"), "{lots}");
    // What programs read is whole microlitres all the same.
    assert_eq!(desk.json(&["list", "vessels"])[0]["capacity_ul"], 227_124_707);
    desk.write("looks.toml", "# mine\nvolumes = \"litres\"\n");
    let said = desk.refused(&["list", "lots"], "Line 2 of your looks in looks.toml says 'volumes'");
    assert!(said.contains("Did you mean 'volume'?"), "{said}");
}
