//! A spreadsheet is taken in at the desk: asked about, refused by line, entered as one act, and known when it comes again.

use serde_json::Value;

use crate::desk::{Desk, text};

/// What a command gave: its exit code, what it gave out, what it said.
struct Told {
    code: i32,
    out: String,
    err: String,
}

/// A desk with spreadsheets beside its cellar.
struct Importing(Desk);

impl Importing {
    fn new() -> Importing {
        Importing(Desk::new())
    }

    /// Writes a spreadsheet; gives its name.
    fn file(&self, name: &str, text: &str) -> String {
        self.0.write(name, text);
        name.to_owned()
    }

    fn run(&self, words: &[&str]) -> Told {
        let output = self.0.run(words);
        Told { code: output.status.code().unwrap(), out: text(&output.stdout), err: text(&output.stderr) }
    }
}

const BARRELS: &str =
    "Barrel;Capacity (L);Oak;Year;Place\n0181;225;Allier;2024;A-01-1-a\n0182;228,5;Vosges;2024;A-01-1-b\n";

#[test]
fn a_list_of_barrels_is_asked_about_entered_known_and_taken_back() {
    let desk = Importing::new();
    let file = desk.file("barrels.csv", BARRELS);
    let asked = desk.run(&["import", "barrels", &file]);
    assert_eq!(asked.code, 1);
    assert!(
        asked.err.contains("In which room do they lie? The file does not say it. Say --set room=NAME"),
        "{}",
        asked.err
    );
    let asked = desk.run(&["import", "barrels", &file, "--set", "room=long"]);
    assert!(asked.err.contains("Say --lay-out."), "{}", asked.err);
    let words = ["import", "barrels", &file, "--set", "room=long", "--lay-out"];
    let tried = desk.run(&[&words[..], &["--dry-run"]].concat());
    assert_eq!((tried.code, tried.err.as_str()), (0, ""));
    assert!(tried.out.ends_with("5 facts would be entered; 0 lines already known\n"), "{}", tried.out);
    assert!(desk.run(&["list", "vessels"]).out.starts_with("There are no vessels yet."));
    assert_eq!(desk.run(&words).out, "5 facts entered\n");
    assert_eq!(desk.run(&words).out, "0 facts entered; 2 lines already known\n");
    let vessels: Value = serde_json::from_str(&desk.run(&["list", "vessels", "--format", "json"]).out).unwrap();
    let lies: Vec<_> =
        vessels.as_array().unwrap().iter().map(|vessel| (&vessel["capacity_ul"], &vessel["place"])).collect();
    assert_eq!(lies, [(&225_000_000.into(), &"long/A-01-1-a".into()), (&228_500_000.into(), &"long/A-01-1-b".into())]);
    assert_eq!(desk.run(&["undo"]).code, 0);
    assert!(desk.run(&["list", "vessels"]).out.starts_with("There are no vessels yet."));
    assert_eq!(desk.run(&words).out, "5 facts entered\n");
}

#[test]
fn what_json_tells_of_a_file_is_what_another_program_needs() {
    let desk = Importing::new();
    let file = desk.file("barrels.csv", &BARRELS.replace("0182;228,5", "0182;much"));
    let told = desk.run(&["import", "barrels", &file, "--set", "room=long", "--dry-run", "--format", "json"]);
    assert_eq!(told.code, 1);
    let told: Value = serde_json::from_str(&told.out).unwrap();
    assert_eq!(told["delimiter"], "semicolon");
    assert_eq!(told["encoding"], "utf-8");
    assert_eq!(told["header_row"], 1);
    assert_eq!(told["columns"][1], serde_json::json!({"column": "Capacity", "field": "capacity"}));
    assert_eq!(told["refused"][0]["line"], 3);
    assert_eq!(told["questions"].as_array().unwrap().len(), 1);
    assert_eq!(told["known"], 0);
}

#[test]
fn all_or_nothing_unless_the_good_lines_are_to_be_kept() {
    let desk = Importing::new();
    let file = desk.file("barrels.csv", "Barrel,Litres\n0181,225\n0182,two\n0183,0\n");
    let refused = desk.run(&["import", "barrels", &file]);
    assert_eq!((refused.code, refused.out.as_str()), (1, ""));
    assert!(refused.err.contains("line 3: 'two' in the column 'Litres' is no number."), "{}", refused.err);
    assert!(refused.err.contains("line 4: "), "{}", refused.err);
    assert!(refused.err.ends_with(
        "2 lines cannot be taken, so nothing was entered. Mend them, or take the others with --keep-good.\n"
    ));
    let kept = desk.run(&["import", "barrels", &file, "--keep-good"]);
    assert_eq!((kept.code, kept.out.as_str()), (1, "1 fact entered\n"), "{}", kept.err);
    assert!(kept.err.ends_with("2 lines cannot be taken; the others were.\n"), "{}", kept.err);
}

#[test]
fn a_near_miss_is_asked_about_once() {
    let desk = Importing::new();
    let file = desk.file("barrels.csv", "Barrel,Litres,Forest\n0181,225,Trnçais\n0182,225,Trnçais\n");
    let asked = desk.run(&["import", "barrels", &file]);
    assert_eq!(asked.code, 1);
    assert_eq!(asked.err.matches("Tronçais is meant?").count(), 1, "{}", asked.err);
    assert_eq!(desk.run(&["import", "barrels", &file, "--sure"]).out, "2 facts entered\n");
}

#[test]
fn wine_comes_into_barrels_that_are_there() {
    let desk = Importing::new();
    let barrels = desk.file("barrels.csv", "Barrel,Litres\n0181,225\n0182,225\n");
    assert_eq!(desk.run(&["import", "barrels", &barrels]).code, 0);
    let wine = desk.file(
        "wine.csv",
        "Barrel,Lot,Variety,Vintage\n0181,M25,Merlot,2025\n0182,M25,Merlot,2025\n0199,M25,Merlot,2025\n",
    );
    let said = ["--set", "litres=full", "--set", "colour=red", "--set", "appellation=Varrow Valley"];
    let asked = desk.run(&["import", "wine", &wine]);
    assert!(asked.err.contains("How much lies in each vessel?"), "{}", asked.err);
    let refused = desk.run(&[&["import", "wine", &wine][..], &said].concat());
    assert!(refused.err.contains("line 4: '0199' is no vessel here."), "{}", refused.err);
    let kept = desk.run(&[&["import", "wine", &wine, "--keep-good"][..], &said].concat());
    assert_eq!(kept.out, "5 facts entered\n", "{}", kept.err);
    assert!(kept.err.contains("The last topping of these barrels is taken as not known"), "{}", kept.err);
    let lots: Value = serde_json::from_str(&desk.run(&["list", "lots", "--format", "json"]).out).unwrap();
    assert_eq!(lots[0]["volume_ul"], 450_000_000);
    // Of none of them it is known when it was last topped, so all are to be looked at.
    let seen: Value = serde_json::from_str(&desk.run(&["list", "vessels", "--format", "json"]).out).unwrap();
    for barrel in seen.as_array().unwrap() {
        assert_eq!((&barrel["days_since_full"], &barrel["due"]), (&Value::Null, &"due".into()), "{barrel}");
        assert_eq!(barrel["headspace_basis"], "last topping not known, if topped as usual");
    }
    // Others of that lot later: what is known of their last topping is said of each, and the first are no less than they were.
    let wine = desk.file("more.csv", "Barrel,Lot,Last topped\n0183,M25,2026-01-02\n0184,M25,\n0185,M25,in spring\n");
    let barrels = desk.file("barrels.csv", "Barrel,Litres\n0183,225\n0184,225\n0185,225\n");
    assert_eq!(desk.run(&["import", "barrels", &barrels]).code, 0);
    let more = desk.run(&["import", "wine", &wine, "--set", "litres=full", "--set", "origin=M25"]);
    assert_eq!(more.out, "6 facts entered\n", "{}", more.err);
    assert!(
        more.err.contains("The last topping of the barrels beside which no day stands is taken as not known"),
        "{}",
        more.err
    );
    assert!(more.err.contains("No day of a last topping is told by the line 4."), "{}", more.err);
    let seen: Value = serde_json::from_str(&desk.run(&["list", "vessels", "--format", "json"]).out).unwrap();
    let known = |label: &str| {
        let seen = seen.as_array().unwrap().iter().find(|vessel| vessel["vessel"] == label).unwrap();
        (seen["days_since_full"].is_null(), seen["headspace_basis"] == "last topping not known, if topped as usual")
    };
    assert_eq!(["0181", "0183", "0184", "0185"].map(known), [(true, true), (false, false), (true, true), (true, true)]);
    let again = desk.run(&["import", "wine", &wine, "--set", "litres=full", "--set", "origin=M25"]);
    assert_eq!((again.out.as_str(), again.err.as_str()), ("0 facts entered; 3 lines already known\n", ""));
}

/// A cause is told once, however many lines have it; what stands in a few of them is told line by line.
#[test]
fn a_cause_is_told_once_however_many_lines_have_it() {
    let desk = Importing::new();
    let lines: Vec<String> = (181..=360).map(|label| format!("0{label};M25;Merlot;2025")).collect();
    let wine = desk.file("wine.csv", &format!("Barrel;Lot;Variety;Vintage\n{}\n", lines.join("\n")));
    let said = ["--set", "litres=full", "--set", "colour=red", "--set", "appellation=Varrow Valley"];
    let refused = desk.run(&[&["import", "wine", &wine][..], &said].concat());
    assert_eq!(
        refused.err,
        "line 2: '0181' is no vessel here. Take in the list of barrels first. The same of the lines 3 to 181.\n\
         barrelwalk: 180 lines cannot be taken, so nothing was entered. Mend them, or take the others with --keep-good.\n"
    );
    let barrels = desk.file("barrels.csv", "Barrel;Size;Trees\n1;much;2\n;225;3\n3;225;4\n;225;4\n5;more;4\n");
    let refused = desk.run(&["import", "barrels", &barrels]);
    assert_eq!(
        refused.err,
        "barrelwalk: Not taken in: the column 'Trees'.\n\
         barrelwalk: Labels like 3 are read as litres on the floor. If they are plain numbers, say so with declare practice \
         --labels-are-numbers yes: then litres want a point, a comma or a unit, like 1.8 or 2 L.\n\
         line 2: 'much' in the column 'Size' is no number.\nline 6: 'more' in the column 'Size' is no number.\n\
         line 3: It names no barrel. The same of the line 5.\n\
         barrelwalk: 4 lines cannot be taken, so nothing was entered. Mend them, or take the others with --keep-good.\n"
    );
    let several = desk.file("several.csv", "Barrel;Size;Litres;Trees;Woods\n1;225;225;a;b\n");
    let asked = desk.run(&["import", "barrels", &several]);
    assert!(asked.err.contains("Which column is the capacity: Size or Litres?"), "{}", asked.err);
    assert!(asked.err.contains("Not taken in: the columns 'Trees' and 'Woods'."), "{}", asked.err);
}

/// A house that knows when its barrels were last topped says it of all at once: they are as if that topping were written down.
#[test]
fn wine_comes_in_with_the_day_of_its_last_topping() {
    let desk = Importing::new();
    let barrels = desk.file("barrels.csv", "Fût,Contenance\n0181,225\n0182,225\n");
    assert_eq!(desk.run(&["import", "barrels", &barrels, "--at", "2026-01-20"]).code, 0);
    let wine = desk.file(
        "wine.csv",
        "Fût;Lot;Cépage;Millésime;Dernier ouillage\n0181;M25;Merlot;2025;17/01/2026\n0182;M25;Merlot;2025;17/01/2026\n",
    );
    let said = ["--set", "litres=full", "--set", "colour=red", "--set", "appellation=Varrow Valley"];
    let taken = desk.run(&[&["import", "wine", &wine, "--at", "2026-01-20"][..], &said].concat());
    assert_eq!((taken.out.as_str(), taken.err.as_str()), ("5 facts entered\n", ""));
    let seen = desk.run(&["list", "vessels", "--format", "json", "--on", "2026-01-27"]).out;
    let seen: Value = serde_json::from_str(&seen).unwrap();
    for barrel in seen.as_array().unwrap() {
        assert_eq!(barrel["days_since_full"], 10, "{barrel}");
    }
    let ahead = desk.run(&["declare", "kept-since", "toppings", "--at", "2026-01-21", "--topped-on", "2026-01-25"]);
    assert_eq!(ahead.code, 1);
    assert!(ahead.err.contains("The last topping on 25 Jan 2026 lies after 21 Jan 2026"), "{}", ahead.err);
}

#[test]
fn the_house_says_since_when_toppings_are_written_down() {
    let desk = Importing::new();
    let barrels = desk.file("barrels.csv", "Barrel,Litres\n0181,225\n");
    assert_eq!(desk.run(&["import", "barrels", &barrels, "--at", "2026-01-01"]).code, 0);
    let wine = desk.file("wine.csv", "Barrel,Lot,Variety,Vintage\n0181,M25,Merlot,2025\n");
    let said = ["--set", "litres=full", "--set", "colour=red", "--set", "appellation=Varrow Valley"];
    let taken = desk.run(&[&["import", "wine", &wine, "--at", "2026-01-02"][..], &said].concat());
    assert_eq!(taken.code, 0, "{}", taken.err);
    let words = ["declare", "kept-since", "toppings", "--at", "2026-03-01"];
    let declared = desk.run(&words);
    assert_eq!(
        declared.out, "written down since 1 Mar 2026; the last topping of 1 barrel is not known\n",
        "{}",
        declared.err
    );
    let unknown = desk.run(&[&words[..], &["--room", "lnog"]].concat());
    assert_eq!((unknown.code, unknown.out.as_str()), (1, ""));
    assert!(unknown.err.contains("lnog"), "{}", unknown.err);
}

#[test]
fn what_is_no_table_is_said() {
    let desk = Importing::new();
    for (bytes, says) in [
        (
            &b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"[..],
            "It is no text and no workbook that can be read. Save it as CSV, XLSX or ODS.",
        ),
        (b"PK\x03\x04 cut short", "damaged"),
        (b"a;b\n1;\"2\n3;4\n", "Line 2: a quotation mark opens a cell there, and none closes it."),
        (&[b',', b'\n'].repeat(100), "Which line names the columns?"),
        (&vec![b','; 40_000_000], "It is larger than 32 MB."),
        (&vec![b','; 1_000_000], "Its table has more than 256 columns (row 1)."),
    ] {
        std::fs::write(desk.0.path("strange"), bytes).unwrap();
        let told = desk.run(&["import", "barrels", "strange"]);
        assert_eq!(told.code, 1);
        assert!(told.err.contains(says), "{} {says}", told.err);
    }
    let told = desk.run(&["import", "barrels", "nowhere.csv"]);
    assert!(told.err.contains("nowhere.csv could not be read"), "{}", told.err);
}

#[test]
fn what_was_said_of_a_table_is_kept_for_the_next_of_the_same_columns() {
    let desk = Importing::new();
    let first = desk.file("first.csv", "Tag;Holds\nA1;225,5\n");
    let words = ["import", "barrels", &first, "--mapping", "kept.json", "--column", "capacity=Holds"];
    // What the cellar refuses, or is only tried, leaves no word behind.
    desk.file("first.csv", "Tag;Holds\nA1;225,5\nA1;225,5\n");
    assert_eq!((desk.run(&words).code, desk.0.path("kept.json").exists()), (1, false));
    desk.file("first.csv", "Tag;Holds\nA1;225,5\n");
    assert_eq!(desk.run(&[&words[..], &["--dry-run"]].concat()).code, 0);
    assert!(!desk.0.path("kept.json").exists());
    assert_eq!(desk.run(&words).out, "1 fact entered\n");
    let next = desk.file("next.csv", "Tag;Holds\nA2;230,5\n");
    assert_eq!(desk.run(&["import", "barrels", &next]).code, 1);
    assert_eq!(desk.run(&["import", "barrels", &next, "--mapping", "kept.json"]).out, "1 fact entered\n");
    let other = desk.file("other.csv", "Tag;Litres\nA3;225\n");
    let refused = desk.run(&["import", "barrels", &other, "--mapping", "kept.json"]);
    assert!(refused.err.contains("It is for the columns Tag, Holds; here are Tag, Litres."), "{}", refused.err);
    desk.file("kept.json", "{}");
    let refused = desk.run(&["import", "barrels", &next, "--mapping", "kept.json"]);
    assert!(refused.err.contains("The mapping kept.json cannot be read"), "{}", refused.err);
}

/// The same cellar, made of two spreadsheets or line by line, is the same to whoever looks at it.
#[test]
fn a_cellar_by_import_and_one_by_commands_is_the_same_cellar() {
    let at = ["--at", "2026-09-01T07:00:00+02:00"];
    let by_import = Importing::new();
    let barrels = by_import.file(
        "barrels.csv",
        "Barrel;Capacity (L);Oak;Toast;Year;Place\n1;225;Allier;medium;2026;A-01-1-a\n2;225;Allier;medium;2026;A-01-1-b\n\
         3;225;Allier;medium;2026;A-02-1-a\n4;225;Allier;medium;2026;A-02-1-b\n",
    );
    let wine = by_import.file(
        "wine.csv",
        "Barrel;Lot;Litres;Colour;Variety;Vintage;Appellation;Block\n1;M26;225;red;Syrah;2026;Varrow Valley;Upper Terrace\n\
         2;M26;225;red;Syrah;2026;Varrow Valley;Upper Terrace\n3;M26;225;red;Syrah;2026;Varrow Valley;Upper Terrace\n",
    );
    for words in [&["import", "barrels", &barrels, "--set", "room=long", "--lay-out"][..], &["import", "wine", &wine]] {
        let told = by_import.run(&[words, &at].concat());
        assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    }
    // Of wine that lies there already both say that nobody wrote down its toppings before.
    let by_hand = Importing::new();
    for words in [
        &["room", "long", "A, 2 stacks, 1 high"][..],
        &["number", "1-4, Allier, medium, 2026"],
        &["open-lot", "M26, red, Syrah, 2026, Varrow Valley, block Upper Terrace: 1-3 full"],
    ] {
        let told = by_hand.run(&[words, &at].concat());
        assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    }
    let ledger = ["ledger", "--from", "2026-09-01", "--to", "2026-09-01", "--by", "vessel"];
    for list in [&["list", "vessels"][..], &["list", "lots"], &["list", "rooms"], &ledger] {
        // What is estimated goes by the hour of asking.
        let on: &[&str] = if list[0] == "list" { &["--on", "2026-09-08"] } else { &[] };
        let told = |desk: &Importing| desk.run(&[list, on, &["--format", "json"]].concat()).out;
        let (one, other) = (told(&by_import), told(&by_hand));
        assert!(one.len() > 20, "{list:?} tells {one}");
        assert_eq!(one, other, "{list:?}");
    }
}
