use std::io::{Cursor, Write};

use zip::CompressionMethod::Deflated;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::super::{Wanted, workbook};
use super::*;

const CELLAR: [(&str, &[u8]); 2] = [
    ("xlsx", include_bytes!("../../../tests/spreadsheets/cellar.xlsx")),
    ("ods", include_bytes!("../../../tests/spreadsheets/cellar.ods")),
];

fn packed(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in parts {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(Deflated)).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

const RELATIONS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

/// A workbook of sheets, each with its state and what it holds, and of what they share.
struct Workbook {
    settings: &'static str,
    texts: String,
    forms: &'static str,
    sheets: Vec<(&'static str, &'static str, String)>,
}

impl Workbook {
    fn of(rows: &str) -> Workbook {
        Workbook::with(&format!("<sheetData>{rows}</sheetData>"))
    }

    fn with(body: &str) -> Workbook {
        let sheets = vec![("Barrels", "visible", body.to_owned())];
        Workbook { settings: "", texts: String::new(), forms: "", sheets }
    }

    fn packed(&self) -> Vec<u8> {
        let relation = |id: &str, kind: &str, target: &str| {
            format!("<Relationship Id=\"{id}\" Type=\"{RELATIONS}/{kind}\" Target=\"{target}\"/>")
        };
        let within = |relations: &str| format!("<Relationships>{relations}</Relationships>");
        let (mut named, mut related, mut sheets) = (String::new(), String::new(), Vec::new());
        for (at, (name, state, body)) in self.sheets.iter().enumerate() {
            let sheet = format!("<sheet name=\"{name}\" sheetId=\"{at}\" state=\"{state}\" r:id=\"r{at}\"/>");
            named.push_str(&sheet);
            related += &relation(&format!("r{at}"), "worksheet", &format!("sheets/{at}.xml"));
            sheets.push((format!("xl/sheets/{at}.xml"), format!("<worksheet>{body}</worksheet>")));
        }
        related += &relation("t", "sharedStrings", "sharedStrings.xml");
        related += &relation("f", "styles", "styles.xml");
        let settings = self.settings;
        let mut parts = vec![
            (xlsx::CONTENTS.to_owned(), "<Types/>".to_owned()),
            ("_rels/.rels".to_owned(), within(&relation("w", "officeDocument", "xl/workbook.xml"))),
            ("xl/workbook.xml".to_owned(), format!("<workbook>{settings}<sheets>{named}</sheets></workbook>")),
            ("xl/_rels/workbook.xml.rels".to_owned(), within(&related)),
            ("xl/styles.xml".to_owned(), format!("<styleSheet>{}</styleSheet>", self.forms)),
        ];
        let texts = &self.texts;
        let texts = if texts.starts_with("<sst") { texts.clone() } else { format!("<sst>{texts}</sst>") };
        parts.push(("xl/sharedStrings.xml".to_owned(), texts));
        parts.extend(sheets);
        packed(&parts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect::<Vec<_>>())
    }

    fn read(&self, sheet: Option<&str>) -> Result<Grid, Unreadable> {
        read(&self.packed(), sheet)
    }
}

/// A workbook of the other kind with what stands in its spreadsheet, and its looks.
fn ods(looks: &str, tables: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:automatic-styles>{looks}</office:automatic-styles><office:body>\
         <office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    );
    packed(&[("META-INF/manifest.xml", "<manifest:manifest/>"), ("content.xml", &content)])
}

fn ods_rows(rows: &str) -> Result<Grid, Unreadable> {
    read(&ods("", &format!("<table:table table:name=\"Barrels\">{rows}</table:table>")), None)
}

/// Each line as its number and its cells.
fn shown(grid: &Grid) -> Vec<String> {
    let words = |line: &super::super::Line| line.cells.iter().map(|cell| cell.words().into_owned()).collect::<Vec<_>>();
    grid.lines.iter().map(|line| format!("{}: {}", line.number, words(line).join("|"))).collect()
}

#[test]
fn a_table_is_the_same_from_each_kind_of_file() {
    let text = Grid::read(include_bytes!("../../../tests/spreadsheets/cellar.csv"), &Wanted::default()).unwrap();
    let mut expected: Vec<Vec<String>> =
        text.lines.iter().map(|line| line.cells.iter().map(|cell| cell.words().into_owned()).collect()).collect();
    // The title is merged over all columns.
    expected[0] = vec![expected[0][0].clone(); 8];
    for (kind, bytes) in CELLAR {
        let grid = Grid::read(bytes, &Wanted::default()).unwrap();
        let cells: Vec<Vec<String>> =
            grid.lines.iter().map(|line| line.cells.iter().map(|cell| cell.words().into_owned()).collect()).collect();
        assert_eq!(cells, expected, "{kind}");
        let numbers: Vec<u64> = grid.lines.iter().map(|line| line.number).collect();
        assert_eq!(numbers, [1, 3, 4, 5, 6, 8], "{kind}");
        assert_eq!(
            grid.source,
            Source::Sheet { name: "Barrels".to_owned(), others: vec!["Lots".to_owned()] },
            "{kind}"
        );
        // A hidden sheet only where it is named.
        let named = |name: &str| Grid::read(bytes, &Wanted { sheet: Some(name.to_owned()), ..Wanted::default() });
        assert_eq!(shown(&named("old").unwrap()), ["1: not to be read"], "{kind}");
        assert_eq!(shown(&named("Lots").unwrap()), ["3: ||1"], "{kind}");
        let there = ["Notes", "Barrels", "Lots"].map(str::to_owned).to_vec();
        let none = Unreadable::NoSheet { wanted: "Tanks".to_owned(), there };
        assert_eq!(named("Tanks").unwrap_err(), none, "{kind}");
    }
}

#[test]
fn another_reader_finds_the_same_numbers_and_words() {
    use calamine::{Data, Reader, open_workbook_auto_from_rs};
    for (kind, bytes) in CELLAR {
        let grid = read(bytes, Some("Barrels")).unwrap();
        let range = open_workbook_auto_from_rs(Cursor::new(bytes)).unwrap().worksheet_range("Barrels").unwrap();
        let mut compared = 0;
        for (row, column, cell) in range.cells() {
            let line = grid.lines.iter().find(|line| line.number == row as u64 + 1);
            let own = line.map_or_else(String::new, |line| line.cell(column).words().into_owned());
            let (own, other) = match cell {
                // Labels and shares are shown with their signs, here as there.
                Data::Float(number) => match own.strip_suffix('%') {
                    Some(share) => ((share.parse::<f64>().unwrap() / 100.0).to_string(), number.to_string()),
                    None => {
                        (own.trim_start_matches('0').to_owned(), number.to_string().trim_start_matches('0').to_owned())
                    }
                },
                Data::String(text) => (own, text.trim().replace("\r\n", "\n")),
                _ => continue,
            };
            compared += 1;
            assert_eq!(own, other, "{kind} {row} {column}");
        }
        assert!(compared > 20, "{kind} {compared}");
    }
}

#[test]
fn cells_are_what_a_workbook_says_they_are() {
    let mut book = Workbook::of(
        "<row r=\"2\"><c r=\"A2\" t=\"s\"><v>1</v></c><c r=\"B2\"><v>417</v></c><c r=\"C2\" s=\"1\"><v>417</v></c>\
         <c r=\"D2\" s=\"2\"><v>46145</v></c><c r=\"E2\"><v>46145</v></c><c r=\"F2\" s=\"3\"><v>0.3125</v></c></row>\
         <row r=\"5\"><c t=\"b\"><v>1</v></c><c t=\"e\"><v>#SPILL!</v></c><c t=\"e\"><v>#DIV/0!</v></c><c><f>A1</f></c>\
         <c t=\"str\"><f>A1</f><v></v></c><c t=\"str\"><f>A1</f></c><c><f>A1</f><v>7</v></c><c s=\"9\"><v>1e-3</v></c></row>\
         <row><c t=\"inlineStr\"><is><t> a </t></is></c><c r=\"D6\" t=\"s\"><v>2</v></c><c t=\"s\"><v>0</v></c>\
         <c t=\"d\"><v>2026-05-03T14:30:00</v></c><c><v>x</v></c><c r=\"ZZ6\" s=\"2\"/></row>",
    );
    book.texts =
        "<si/><si><t>0417</t></si><si><r><t>fût </t></r><r><t xml:space=\"preserve\">n&#176; 4_x000D_\n&amp;</t></r>\
                  <rPh><t>spoken</t></rPh></si>"
            .to_owned();
    book.forms = "<numFmts><numFmt numFmtId=\"170\" formatCode=\"0000\"/></numFmts><cellStyleXfs><xf numFmtId=\"14\"/>\
                  </cellStyleXfs><cellXfs><xf/><xf numFmtId=\"170\"/><xf numFmtId=\"14\"/><xf numFmtId=\"20\"/></cellXfs>";
    let rows = shown(&book.read(None).unwrap());
    assert_eq!(
        rows,
        [
            "2: 0417|417|0417|2026-05-03|46145|07:30",
            "5: TRUE|a formula that failed|a division by nought|a formula without a value||a formula without a value|7|0.001",
            "6: a|||fût n° 4\n&||2026-05-03 14:30|a number that cannot be read",
        ]
    );
    book.settings = "<workbookPr date1904=\"1\"/>";
    assert_eq!(book.read(None).unwrap().lines[0].cell(3).words(), "2030-05-04");
    // Written by what works no formulas out, and says so.
    let mut book = Workbook::of("<row><c><f>A1</f><v>0</v></c><c><v>0</v></c></row>");
    book.settings = "<calcPr fullCalcOnLoad=\"1\"/>";
    assert_eq!(shown(&book.read(None).unwrap()), ["1: a formula without a value|0"]);
}

#[test]
fn a_merged_cell_fills_its_area() {
    let book = Workbook::with(
        "<sheetData><row r=\"1\"><c r=\"A1\"><v>1</v></c><c r=\"C1\"><v>3</v></c></row><row r=\"2\"><c r=\"A2\"><v>9</v></c>\
         <c r=\"C2\"><v>4</v></c></row></sheetData><mergeCells><mergeCell ref=\"A1:A2\"/><mergeCell ref=\"C1:XFD1\"/>\
         <mergeCell ref=\"B1:C2\"/></mergeCells>",
    );
    // Beyond where the table reaches a merged cell says nothing; and one that is empty hides what lies under it.
    assert_eq!(shown(&book.read(None).unwrap()), ["1: 1", "2: 1"]);
    let cell = "<table:table-cell office:value-type=\"float\" office:value=\"1\"";
    let grid = ods_rows(&format!(
        "<table:table-row>{cell} table:number-columns-spanned=\"2\" table:number-rows-spanned=\"2\"/>\
         <table:covered-table-cell/>{cell}/></table:table-row>\
         <table:table-row><table:covered-table-cell table:number-columns-repeated=\"2\"/>{cell}/></table:table-row>"
    ));
    assert_eq!(shown(&grid.unwrap()), ["1: 1|1|1", "2: 1|1|1"]);
}

#[test]
fn cells_of_the_other_kind_are_what_it_says_they_are() {
    let cell = |attributes: &str, within: &str| format!("<table:table-cell {attributes}>{within}</table:table-cell>");
    let value =
        |kind: &str, value: &str| cell(&format!("office:value-type=\"{kind}\" office:{value}"), "<text:p>?</text:p>");
    let rows = [
        value("float", "value=\"2.5\"")
            + &value("percentage", "value=\"0.135\"")
            + &value("currency", "value=\"12.5\"")
            + &value("date", "date-value=\"2026-05-03\"")
            + &value("time", "time-value=\"PT36H05M00S\"")
            + &value("boolean", "boolean-value=\"true\"")
            + &value("string", "string-value=\"kept\"")
            + &cell("office:value-type=\"float\" office:value=\"417\"", "<text:p>0417</text:p>"),
        cell(
            "office:value-type=\"string\"",
            "<office:annotation><dc:date>2026</dc:date><text:p>a note</text:p></office:annotation><text:p>one\n  <text:s \
             text:c=\"2\"/><text:span>t&amp;o</text:span></text:p><text:p>three<text:line-break/>four</text:p>",
        ) + &cell("table:formula=\"of:=1\"", "")
            + &cell("table:formula=\"of:=1\" office:value-type=\"string\"", "")
            + &cell(
                "table:formula=\"of:=1\" office:value-type=\"float\" office:value=\"0\"",
                "<text:p>#DIV/0!</text:p>",
            )
            + &cell(
                "office:value-type=\"string\" office:string-value=\"\" calcext:value-type=\"error\"",
                "<text:p>Err:502</text:p>",
            )
            + &cell("", "<text:p>bare</text:p><table:table><table:table-row/></table:table>"),
    ];
    let row = |cells: &String| format!("<table:table-row>{cells}</table:table-row>");
    let rows = format!(
        "<table:shapes><table:table-row>{}</table:table-row></table:shapes><table:table-header-rows>{}\
         </table:table-header-rows><table:table-row table:number-rows-repeated=\"3\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row><table:table-row-group>{}</table:table-row-group>",
        cell("", "<text:p>drawn</text:p>"),
        row(&rows[0]),
        row(&rows[1])
    );
    assert_eq!(
        shown(&ods_rows(&rows).unwrap()),
        [
            "1: 2.5|13.5%|12.5|2026-05-03|36:05|TRUE|kept|0417",
            "5: one   t&o\nthree\nfour|a formula without a value||a division by nought|a formula that failed|bare",
        ]
    );
}

#[test]
fn what_comes_again_is_counted_as_often_as_it_comes() {
    let rows = |rows: &str, columns: &str| {
        ods_rows(&format!(
            "<table:table-row table:number-rows-repeated=\"{rows}\"><table:table-cell table:number-columns-repeated=\
             \"{columns}\" office:value-type=\"float\" office:value=\"1\"/><table:table-cell \
             table:number-columns-repeated=\"4000000000\"/></table:table-row>"
        ))
    };
    assert_eq!(shown(&rows("2", "3").unwrap()), ["1: 1|1|1", "2: 1|1|1"]);
    let most = Unreadable::TooMuch("more than 256 columns (row 1)".to_owned());
    assert_eq!(rows("4000000000", "4000000000").unwrap_err(), most);
    assert_eq!(rows("4000000000", "1").unwrap_err(), Unreadable::TooMuch("more than 200000 rows".to_owned()));
    assert_eq!(rows("4000000000", "200").unwrap_err(), Unreadable::TooMuch("more than 2000000 cells".to_owned()));
    assert!(matches!(rows("-1", "1"), Err(Unreadable::Damaged(_))));
    assert!(matches!(rows("99999999999999999999999", "1"), Err(Unreadable::Damaged(_))));
}

#[test]
fn what_is_only_claimed_takes_no_room() {
    let far = "<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>";
    let far = Workbook::with(&format!("<dimension ref=\"XFD1048576:A1\"/><sheetData>{far}</sheetData>")).read(None);
    assert_eq!(far.unwrap_err(), Unreadable::TooMuch("more than 256 columns (row 1048576)".to_owned()));
    let formula = "<f t=\"shared\" si=\"18446744073709551614\" ref=\"A1:XFD1048576\">A2</f>";
    let mut book = Workbook::with(&format!(
        "<dimension ref=\"A1:XFD1048576\"/><sheetData><row r=\"1048576\"><c r=\"A1048576\">{formula}<v>1</v></c></row></sheetData>\
         <mergeCells count=\"4000000000\"><mergeCell ref=\"B1:XFD1048576\"/></mergeCells>"
    ));
    book.texts = "<sst count=\"18446744073709551615\" uniqueCount=\"18446744073709551615\"/>".to_owned();
    book.forms = "<cellXfs count=\"18446744073709551615\"/>";
    assert_eq!(shown(&book.read(None).unwrap()), ["1048576: 1"]);
    // One long text in every cell.
    let row = |row: usize| format!("<row r=\"{row}\">{}</row>", "<c t=\"s\"><v>0</v></c>".repeat(200));
    let mut book = Workbook::of(&(1..=100).map(row).collect::<String>());
    book.texts = format!("<si><t>{}</t></si>", "e".repeat(10_000));
    assert_eq!(book.read(None).unwrap_err(), Unreadable::TooMuch("more than 24 MB of letters".to_owned()));
    book.texts = format!("<si><t>{}</t></si>", "é".repeat(10_001));
    let long = "a cell of more than 10000 letters (row 1)".to_owned();
    assert_eq!(book.read(None).unwrap_err(), Unreadable::TooMuch(long));
    // Cells far to the right, all empty before it.
    let row = |row| format!("<row r=\"{row}\"><c r=\"IV{row}\"><v>1</v></c></row>");
    let far = (1..=8_000).map(row).collect::<Vec<_>>().concat();
    assert_eq!(Workbook::of(&far).read(None).unwrap_err(), Unreadable::TooMuch("more than 2000000 cells".to_owned()));
    // Areas over areas.
    let merged = "<mergeCell ref=\"A1:IV200000\"/>".repeat(1_000);
    let cells = "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row><row r=\"7000\"><c r=\"IV7000\"><v>1</v></c></row>";
    let book = Workbook::with(&format!("<sheetData>{cells}</sheetData><mergeCells>{merged}</mergeCells>"));
    assert_eq!(book.read(None).unwrap_err(), Unreadable::TooMuch("more than 2000000 merged cells".to_owned()));
}

/// The same zip, whose directory says of a part that it has nine bytes.
fn understated(mut bytes: Vec<u8>, part: &str) -> Vec<u8> {
    let name = bytes.windows(part.len()).rposition(|window| window == part.as_bytes()).unwrap();
    // It stands 46 bytes into its entry, and the size 24.
    bytes[name - 22..name - 18].copy_from_slice(&9_u32.to_le_bytes());
    bytes
}

#[test]
fn what_unpacks_without_end_is_refused() {
    let too_large = Unreadable::TooMuch("more than 48 MB when it is unpacked".to_owned());
    let blanks = " ".repeat(1 << 19);
    let rows = Workbook::of(&format!("<row/>{blanks}").repeat(100)).packed();
    let table = ods("", &format!("<table:table/>{blanks}<!---->{blanks}").repeat(50));
    for (bytes, part) in [(rows, "xl/sheets/0.xml"), (table, "content.xml")] {
        assert_eq!(read(&bytes, None).unwrap_err(), too_large);
        let refused = read(&understated(bytes, part), None);
        assert!(matches!(refused, Err(Unreadable::TooMuch(_) | Unreadable::Damaged(_))), "{part}");
    }
    let longest = Workbook::of(&format!("<row a=\"{}\"/>", "x".repeat(2 << 20)));
    assert_eq!(longest.read(None).unwrap_err(), Unreadable::TooMuch("a tag or a text of more than 1 MB".to_owned()));
    let deep = Workbook::of(&"<x>".repeat(100_000));
    assert!(matches!(deep.read(None), Err(Unreadable::Damaged(_))));
}

#[test]
fn a_directory_that_claims_more_than_there_is_is_refused() {
    let mut bytes = Workbook::of("").packed();
    let end = bytes.len() - 22;
    let mut larger = b"PK\x06\x06".to_vec();
    for number in [44_u64, 0x2d_002d, 0, u64::MAX, u64::MAX, u64::MAX / 2, 1 << 40] {
        larger.extend(number.to_le_bytes());
    }
    larger.extend(b"PK\x06\x07\0\0\0\0");
    larger.extend((end as u64).to_le_bytes());
    larger.extend([1, 0, 0, 0]);
    bytes.splice(end..end, larger);
    assert!(matches!(read(&bytes, None), Err(Unreadable::Damaged(_))));
    let bytes = [b"PK\x03\x04".as_slice(), &b"PK\x01\x02".repeat(5_000)].concat();
    assert_eq!(read(&bytes, None).unwrap_err(), Unreadable::TooMuch("more than 4096 parts".to_owned()));
}

#[test]
fn what_is_locked_or_another_kind_is_said() {
    let kind = |bytes: &[u8]| Grid::read(bytes, &Wanted::default()).unwrap_err();
    let mut older = [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1].to_vec();
    older.resize(640, 0);
    assert_eq!(kind(&older), Unreadable::OldWorkbook);
    older.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    assert_eq!(kind(&older), Unreadable::Locked);
    let manifest =
        "<manifest:manifest><manifest:file-entry><manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    assert_eq!(kind(&packed(&[(ods::MANIFEST, manifest), ("content.xml", "\u{1}")])), Unreadable::Locked);
    assert_eq!(kind(&packed(&[("a.txt", "a")])), Unreadable::NoTable);
    let letter = "<office:document-content><office:body><office:text/></office:body></office:document-content>";
    assert_eq!(kind(&packed(&[(ods::MANIFEST, "<m/>"), ("content.xml", letter)])), Unreadable::NoTable);
    let letter = [(xlsx::CONTENTS, "<Types/>"), ("xl/workbook.xml", "<document/>")];
    assert_eq!(kind(&packed(&letter)), Unreadable::NoTable);
    assert!(workbook::is_one(&packed(&letter)));
}

#[test]
fn the_first_sheet_that_is_shown_and_holds_something_is_read() {
    let filled = "<sheetData><row><c><v>1</v></c></row></sheetData>";
    let sheet = |name, state, body: &str| (name, state, body.to_owned());
    let mut book = Workbook::of("");
    assert_eq!(book.read(None).unwrap().source, Source::Sheet { name: "Barrels".to_owned(), others: Vec::new() });
    book.sheets = vec![
        sheet("Hidden", "veryHidden", filled),
        sheet("Empty", "visible", "<sheetData><row><c s=\"1\"/></row></sheetData>"),
        sheet("A &amp; B", "visible", filled),
        sheet("Broken", "visible", "<sheetData><row><c>"),
        sheet("Last", "visible", filled),
    ];
    let source = |name: &str, others: &[&str]| Source::Sheet {
        name: name.to_owned(),
        others: others.iter().map(|&name| name.to_owned()).collect(),
    };
    assert_eq!(book.read(None).unwrap().source, source("A & B", &["Last"]));
    assert_eq!(book.read(Some("Last")).unwrap().source, source("Last", &["A & B"]));
    assert_eq!(book.read(Some("empty")).unwrap().source, source("Empty", &["A & B", "Last"]));
    assert!(matches!(book.read(Some("Broken")), Err(Unreadable::Damaged(_))));
    book.sheets.truncate(1);
    assert!(matches!(book.read(None), Err(Unreadable::Damaged(_))));
}

#[test]
fn a_damaged_workbook_is_refused_and_nothing_falls_over() {
    let small =
        Workbook { texts: "<si><t>0417</t></si>".to_owned(), ..Workbook::of("<row><c t=\"s\"><v>0</v></c></row>") };
    let other = ods(
        "",
        "<table:table table:name=\"a\"><table:table-row><table:table-cell><text:p>0417</text:p></table:table-cell></table:table-row></table:table>",
    );
    for whole in [small.packed(), other] {
        let read_whole = read(&whole, None).unwrap();
        for end in 0..whole.len() {
            assert!(read(&whole[..end], None).is_err(), "{end}");
        }
        let mut bytes = whole.clone();
        for at in 0..whole.len() {
            bytes[at] ^= [0x01, 0x20, 0x80, 0xff][at % 4];
            // What is read nevertheless is what was written: each part is kept with a sum over it.
            if let Ok(grid) = read(&bytes, None) {
                assert_eq!(grid.lines, read_whole.lines, "{at}");
            }
            bytes[at] = whole[at];
        }
    }
}
