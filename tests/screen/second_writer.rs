//! Any keys on any page while another program enters facts between them: nothing breaks, no page enters what is another page's, and
//! what is written stays written or is told.

use std::collections::HashSet;

use barrelwalk::cellar::core::fact::{FactId, IncomingFact};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, Desk, IncomingLine};
use barrelwalk::tui::edge::screen::Message;
use crossterm::event::KeyEvent;
use proptest::prelude::*;

use crate::cellar::{fact, morning};
use crate::commands::any_key;
use crate::walk::{Walk, resized};

/// How a page is come to: a cellar, and the keys in it.
type Opened = (fn() -> Walk, &'static str);

/// The pages, by what opens them.
const OPENED: &[Opened] = &[
    (Walk::small, ""),
    (Walk::small, "enter"),
    (Walk::small, "/"),
    (Walk::small, "?"),
    (Walk::small, "i"),
    (Walk::small, "a"),
    (Walk::small, "p"),
    (Walk::small, ":trace"),
    (Walk::small, ":ledger"),
    (Walk::small, ":messages"),
    (Walk::small, ":discrepancies"),
    (Walk::small, "/ `the journal` enter"),
    (Walk::small, "/ `house settings` enter"),
    (Walk::small, "/ `wine is lost` enter `T1` down `30`"),
    (Walk::small, "/ `works` enter"),
    (Walk::small, "t `14.5 pl`"),
    (Walk::small, "h"),
    (Walk::small, "b"),
    (Walk::small, "b enter enter"),
    (Walk::small, "b enter enter z"),
    (Walk::small, "`0404` enter b enter enter `1.2` enter"),
    (Walk::small, "`0401` enter d"),
    (Walk::small, "`0401` enter d down enter"),
    (Walk::small, "`W-01` enter d enter"),
    (Walk::small, "`W-01` enter d enter enter"),
    (Walk::small, "`W-01` enter d enter enter z"),
    (Walk::small, "/ `T1` enter d enter"),
    (Walk::small, "/ `T1` enter d down enter `90`"),
    (Walk::small, "/ `T1` enter :checklist"),
    (Walk::small, "/ `T1` enter :checklist n s `film`"),
    (Walk::small, "/ `T1` enter :bench end enter"),
    (Walk::small, "/ `T1` enter :bench end enter enter `0.5: clear`"),
    (Walk::small, "/ `T1` enter :bottle"),
    (Walk::small, "/ `T1` enter :bottle tab `12`"),
    (Walk::small, ":bench"),
    (Walk::small, "`0401` enter + `0402` enter + :bench `15 pl` enter `14`"),
    (Walk::small, "tab :count down `212`"),
    (Walk::bottled, ":bins"),
    (Walk::bottled, ":bins tab"),
    (Walk::bottled, ":bins down right i"),
    (Walk::bottled, ":bins down right o `W261, 3 sold`"),
    (Walk::bottled, ":bins down right i c"),
    (dosing, ""),
    (crate::bottling::recorded, "end"),
    (crate::assemblage::blend, "d enter"),
    (crate::assemblage::blend, "d enter space z"),
    (Walk::small, "tab :count space tab"),
    (crate::trial_setting::written, ""),
    (crate::trial_setting::written, "enter"),
    (crate::trial_setting::second, ""),
    (crate::trial_tasting::tasting, "`15`"),
    (crate::trial_tasting::tasting, "esc"),
    (crate::trial_tasting::tasting, "esc v"),
    (crate::mend_dates::ahead, "/ `mend dates` enter `22 nov`"),
];

/// The doses of a lot that is tested.
fn dosing() -> Walk {
    let (home, mut walk) = crate::works::tested();
    walk.keep_cellar_of(home);
    walk.press("`W-01` enter d down enter");
    walk
}

/// What another program enters. What does not fit where it comes is refused there.
const ELSEWHERE: &[&str] = &[
    r#""kind":"noted","about":"0405","text":"elsewhere""#,
    r#""kind":"lot_opened","lot":"A00 Brook","colour":"red""#,
    r#""kind":"vessel_registered","vessel":"K0","type":"keg","capacity_ul":50000000"#,
    r#""kind":"vessel_registered","vessel":"T0","type":"tank","capacity_ul":9000000000"#,
    r#""kind":"vessel_placed","vessel":"0401","place":null"#,
    r#""kind":"vessel_placed","vessel":"0401","place":"long/A-04-3-a""#,
    r#""kind":"vessel_placed","vessel":"W-01","place":null"#,
    r#""kind":"vessel_retired","vessel":"W-05","why":"sold""#,
    r#""kind":"held","vessel":"0401","why":"elsewhere""#,
    r#""kind":"freed","vessel":"0401","why":"elsewhere""#,
    r#""kind":"topped","vessel":"0401","from":"T1","volume_ul":1000000,"full":true"#,
    r#""kind":"tasted","vessel":"0402","score":11.0,"marks":["Brett"]"#,
    r#""kind":"wine_moved","from":"T1","to":"T2","volume_ul":1000000000,"purpose":"other""#,
    r#""kind":"wine_moved","from":"W-01","to":"T2","volume_ul":225000000,"empties":true,"purpose":"racking""#,
    r#""kind":"work_set","work":"a first one","task":"racking","to":"T2","stops":[{"vessel":"W-02","volume_ul":225000000}]"#,
    r#""kind":"work_ended","work":"a first one""#,
    r#""kind":"round_begun","round":"elsewhere","room":"long","from":"T1""#,
    r#""kind":"check_declared","item":"a first one","required":true"#,
    r#""kind":"laid_away","run":"Chalk 26","bottles":12,"from":"shop shelf 2","place":"cave/A-01""#,
    r#""kind":"fining_trial","trial":"own","vessel":"T1","material":"milk","stock_pct":5,"glasses":[{"dose_g_l":0.1}]"#,
    r#""kind":"trial_revealed","trial":"Cuvée 26""#,
];

/// What the keys of a page enter; nothing on a page that does not stand here. Undo and redo take back and give back on any.
const ENTERED: &[(&str, &[&str])] = &[
    ("The floor", &["topped", "skipped", "wine_moved", "treated", "barrel_cared", "practice_set"]),
    ("Find", &["topped", "skipped", "wine_moved", "treated", "barrel_cared", "practice_set"]),
    (
        "A line of words",
        &[
            "tasted",
            "gauged",
            "held",
            "freed",
            "noted",
            "topped",
            "wine_moved",
            "bottled",
            "material_declared",
            "treated",
            "bottles_out",
            "check_waived",
        ],
    ),
    ("A hold that is offered", &["held"]),
    ("The vessel to top from", &["round_begun", "source_changed", "vessel_changed"]),
    ("Closing the round", &["round_ended"]),
    ("Closing the work", &["work_ended", "gauged", "wine_moved"]),
    ("The tank of a racking", &["work_set"]),
    ("Sulfur dioxide for a lot", &["work_set"]),
    ("Filling barrels from a tank", &["work_set"]),
    ("From tank to tank", &["wine_moved", "lost"]),
    ("Before bottling", &["checked", "check_waived", "check_declared"]),
    ("A line of the checklist", &["checked", "check_waived", "check_declared"]),
    ("A fining trial", &["fining_trial"]),
    ("Give the dose", &["treated"]),
    ("A bottling", &["bottled", "bottles_out", "check_waived"]),
    ("Glasses at the bench", &["tasted"]),
    ("Setting a trial", &["trial_set"]),
    ("The blend of a trial", &["blend_chosen"]),
    ("Glasses of a trial", &["glass_rated"]),
    ("Whether to reveal a trial", &["trial_revealed"]),
    (
        "A count of what is here",
        &[
            "count_begun",
            "counted",
            "count_ended",
            "gauged",
            "bottles_counted",
            "wine_received",
            "lot_opened",
            "origin_declared",
        ],
    ),
    ("Close without booking", &["count_ended"]),
    ("A line about bottles", &["laid_away", "bottles_out", "bottle_tasted"]),
    ("Discrepancies", &["noted", "topped", "wine_moved", "treated", "barrel_cared"]),
    // Why a line is taken back.
    ("The journal", &["noted"]),
    // What it mends is entered anew.
    ("Mending dates", &["noted"]),
    (
        "A line to begin with",
        &["room_laid_out", "vessel_registered", "lot_opened", "wine_received", "practice_set", "vessel_placed"],
    ),
    ("House settings", &["practice_set"]),
    ("Laboratory tests", &["tested", "lot_opened", "analyte_declared"]),
    ("A sample of the lot", &["sampled", "work_set"]),
    ("Rack and return", &["work_set"]),
    ("Works", &["work_set", "work_ended"]),
];

/// Pages that enter a fact of whichever kind they are opened for, and only as the top of the pages.
const OF_ANY_KIND: &[&str] = &["A form", "A spreadsheet as it is understood"];

#[derive(Clone, Debug)]
enum Happening {
    Key(KeyEvent),
    Elsewhere(usize),
    Paste(&'static str),
    Resize(u16, u16),
}

fn any_happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        30 => any_key().prop_map(Happening::Key),
        6 => (0..ELSEWHERE.len()).prop_map(Happening::Elsewhere),
        1 => prop::sample::select(vec!["0405\r", "1.5\r\n", "plum, a little closed", "W261, 3 sold\n"]).prop_map(Happening::Paste),
        1 => (60_u16..140, 16_u16..50).prop_map(|(width, height)| Happening::Resize(width, height)),
    ]
}

/// A walk with another program beside it on the same file.
struct Beside {
    walk: Walk,
    other: Desk,
    known: HashSet<FactId>,
}

impl Beside {
    fn new(walk: Walk) -> Beside {
        let other = Desk::open(walk.path(), Access::ReadWrite).unwrap();
        let mut beside = Beside { walk, other, known: HashSet::new() };
        beside.entered();
        beside
    }

    /// The kinds of the facts that were entered since this was asked last.
    fn entered(&mut self) -> Vec<String> {
        let mut kinds = Vec::new();
        let since = Moment::parse("2026-11-24T00:00:00+01:00").unwrap();
        let known = &mut self.known;
        let each = &mut |line: &barrelwalk::cellar::core::fact::Line| {
            if known.insert(line.id.clone()) {
                kinds.push(line.kind.to_string());
            }
            Ok(())
        };
        self.other.export(Some(since), each).unwrap();
        kinds
    }

    /// The other program enters a fact, or has it refused.
    fn elsewhere(&mut self, which: usize) {
        let (fact, body) = IncomingFact::from_json(&fact("11-25", ELSEWHERE[which]).replace("T07", "T06")).unwrap();
        self.other.record(vec![IncomingLine { number: 1, fact, body }], morning(), false).unwrap();
        self.entered();
    }

    /// The names of the pages in sight.
    fn names(&self) -> Vec<&'static str> {
        self.walk.model.pages.in_sight().map(|page| page.about().name).collect()
    }

    fn written(&self) -> String {
        self.walk.model.pages.top().and_then(|page| page.written()).unwrap_or_default().to_owned()
    }

    /// Tells a key or a text. What is entered by it must be what a page in sight enters.
    fn tell(&mut self, message: Message<barrelwalk::tui::core::work::Answer>) {
        let names = self.names();
        self.walk.take(message);
        let allowed = |kind: &str| {
            let of_any_kind = names.last().is_some_and(|name| OF_ANY_KIND.contains(name));
            kind == "retracted"
                || of_any_kind
                || ENTERED.iter().any(|(name, kinds)| names.contains(name) && kinds.contains(&kind))
        };
        for kind in self.entered() {
            assert!(allowed(&kind), "{kind} on {names:?}: {}", self.walk.said());
        }
    }

    /// The screen hears of the other program. What is written there is not lost without a word.
    fn hear(&mut self) {
        let (names, written) = (self.names(), self.written());
        self.walk.take(Message::Changed);
        let is_kept = self.names().last() == names.last() && self.written() == written;
        let is_told = ["its page is closed", "was not taken", "is not here any more", "does not lie here any more"];
        let is_told = is_told.iter().any(|words| self.walk.said().contains(words));
        assert!(written.is_empty() || is_kept || is_told, "'{written}' on {names:?}: {}", self.walk.said());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, ..ProptestConfig::default() })]

    #[test]
    fn any_keys_on_any_page_beside_another_program(
        opened in 0..OPENED.len(),
        happenings in prop::collection::vec(any_happening(), 1..80),
    ) {
        let (walk, keys) = OPENED[opened];
        let mut walk = walk();
        walk.press(keys);
        let mut beside = Beside::new(walk);
        for happening in happenings {
            match happening {
                Happening::Key(key) => beside.tell(Message::Key(key)),
                Happening::Paste(text) => beside.tell(Message::Paste(text.to_owned())),
                Happening::Resize(width, height) => beside.tell(resized(width, height)),
                Happening::Elsewhere(which) => {
                    beside.elsewhere(which);
                    // Sometimes a key is faster than the news.
                    if which % 3 > 0 {
                        beside.hear();
                    }
                }
            }
            beside.walk.text(80, 24);
        }
        beside.hear();
        // What is on the screen is what is on disk, of both.
        let again = beside.walk.reopened();
        prop_assert!(again.model.state == beside.walk.model.state);
    }
}
