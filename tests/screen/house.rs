//! Pages as rooms: what another program enters between a choice and enter. Enter acts on what was chosen, or says that it is gone.

use barrelwalk::desk::{Access, Desk};
use barrelwalk::tui::bench::trial::reveal::RevealPage;
use barrelwalk::tui::edge::screen::Message;

use crate::cellar::fact;
use crate::cellar::record;
use crate::walk::{Walk, nothing};

/// What is done before and after another program entered a fact, and what is said in the end.
struct Between {
    walk: fn() -> Walk,
    /// The page, and the choice on it.
    before: &'static str,
    fact: &'static str,
    after: &'static str,
    said: &'static str,
    /// What stands in the fact that is entered last.
    entered: &'static str,
}

const BETWEEN: &[Between] = &[
    Between {
        walk: Walk::small,
        before: "i +",
        fact: r#""kind":"lot_opened","lot":"A00 Brook","colour":"red""#,
        after: "j",
        said: "The barrels of M26 Upper Terrace",
        entered: "",
    },
    Between {
        walk: Walk::small,
        before: "`0401` enter + `0402` enter + :bench `15 pl` enter `14`",
        fact: r#""kind":"vessel_placed","vessel":"0402","place":null"#,
        after: "enter enter enter",
        said: "Revealed; tastes entered: 2.",
        entered: "tasted",
    },
    Between {
        walk: Walk::small,
        before: "`0403` enter w `looks dry`",
        fact: r#""kind":"vessel_placed","vessel":"0403","place":null"#,
        after: "enter",
        said: "0403 noted.",
        entered: r#""about":"0403""#,
    },
    Between {
        walk: Walk::small,
        before: "b down",
        fact: r#""kind":"vessel_registered","vessel":"K0","type":"keg","capacity_ul":50000000"#,
        after: "enter enter",
        said: "has begun, topping from T1.",
        entered: r#""from":"T1""#,
    },
    Between {
        walk: Walk::small,
        before: "b enter enter z",
        fact: r#""kind":"vessel_registered","vessel":"K0","type":"keg","capacity_ul":50000000"#,
        after: "enter",
        said: "is closed: 0 barrels",
        entered: "round_ended",
    },
    Between {
        walk: Walk::small,
        before: "`W-01` enter d enter",
        fact: r#""kind":"vessel_registered","vessel":"T0","type":"tank","capacity_ul":9000000000"#,
        after: "enter",
        said: "Walking the work",
        entered: r#""to":"T2""#,
    },
    Between {
        walk: Walk::small,
        before: "`W-01` enter d enter enter z",
        fact: r#""kind":"work_set","work":"a first one","task":"racking","to":"T2","stops":[{"vessel":"W-05","volume_ul":225000000}]"#,
        after: "enter",
        said: "rack W26 Chalk 25 Nov 2026 is closed.",
        entered: r#""work":"rack W26 Chalk 25 Nov 2026""#,
    },
    Between {
        walk: Walk::small,
        before: "/ `W-05`",
        fact: r#""kind":"vessel_retired","vessel":"W-05","why":"sold""#,
        after: "enter",
        said: "W-05 is not here any more",
        entered: "",
    },
    Between {
        walk: Walk::bottled,
        before: ":bins down right",
        fact: r#""kind":"store_laid_out","store":"cave","rows":[{"row":"0","bins":3},{"row":"A","bins":12},{"row":"B","bins":4}]"#,
        after: "o `W261, 3 sold` enter enter",
        said: "3 bottles of W261 out: sold.",
        entered: r#""from":"cave/B-02""#,
    },
    Between {
        walk: Walk::bottled,
        before: ":bins tab",
        fact: r#""kind":"laid_away","run":"Chalk 26","bottles":12,"from":"shop shelf 2","place":"cave/B-03""#,
        after: "o",
        said: "Nothing lies in any bin",
        entered: "",
    },
    Between {
        walk: Walk::bottled,
        before: ":bins down right i tab",
        fact: r#""kind":"laid_away","run":"Chalk 26","bottles":12,"from":"shop shelf 2","place":"cave/A-01""#,
        after: "tab tab",
        said: "Another program",
        entered: "",
    },
    Between {
        walk: Walk::small,
        before: "tab :count down `212`",
        fact: r#""kind":"vessel_placed","vessel":"W-02","place":null"#,
        after: "enter",
        said: "W-02 is not to be counted here any more",
        entered: "",
    },
    Between {
        walk: Walk::small,
        before: "/ `T1` enter :checklist n s `film`",
        fact: r#""kind":"check_declared","item":"a first one","required":true"#,
        after: "enter",
        said: "is waived.",
        entered: r#""why":"film""#,
    },
    Between {
        walk: Walk::small,
        before: "/ `T1` enter d down enter `90, lees 30`",
        fact: r#""kind":"vessel_registered","vessel":"T0","type":"tank","capacity_ul":9000000000"#,
        after: "enter enter",
        said: "T1 racked into T2",
        entered: r#""to":"T2""#,
    },
    Between {
        walk: Walk::small,
        before: "/ `T1` enter :bench end enter enter `0.5: clear`",
        fact: r#""kind":"fining_trial","trial":"own","vessel":"T1","material":"milk","stock_pct":5,"glasses":[{"dose_g_l":0.1}]"#,
        after: "enter",
        said: "is written down.",
        entered: r#""dose_g_l":0.5"#,
    },
    Between {
        walk: || {
            let (home, mut walk) = crate::works::tested();
            walk.keep_cellar_of(home);
            walk
        },
        before: "`W-01` enter d down enter",
        fact: r#""kind":"lot_opened","lot":"A00 Brook","colour":"red""#,
        after: "enter",
        said: "Walking the work sulfur W26 Chalk",
        entered: r#""task":"treating""#,
    },
    Between {
        walk: crate::bottling::recorded,
        before: "",
        fact: r#""kind":"vessel_registered","vessel":"T0","type":"tank","capacity_ul":9000000000"#,
        after: "end enter",
        said: "1580 bottles of Cuvée 26",
        entered: r#""vessel":"T9""#,
    },
    Between {
        walk: crate::bottling::recorded,
        before: "end",
        fact: r#""kind":"check_declared","item":"a first one","required":true"#,
        after: "enter",
        said: "a first one",
        entered: "",
    },
];

#[test]
fn what_is_worked_out_apart_is_of_what_was_asked_though_another_program_moved_it() {
    for (keys, title) in [("p", "Headspace of 0403"), (":trace", "Forward from vessel 0403"), ("a", "Lineage of 0403")]
    {
        let mut walk = Walk::small();
        walk.press("`0403` enter").press(keys).comes();
        let before = walk.asked();
        record(walk.path(), &[fact("11-24", r#""kind":"vessel_placed","vessel":"0403","place":null"#)]);
        walk.take(Message::Changed);
        assert!(walk.asked() > before, "{title}: it is asked anew");
        // What comes late of the question before is not shown, and what was shown stays meanwhile.
        assert!(walk.text(80, 24).contains(title), "{}", walk.text(80, 24));
        walk.take(nothing(before, "late"));
        assert!(walk.comes().text(80, 24).contains(title), "{}", walk.text(80, 24));
        walk.press("esc");
        assert!(walk.is_on_floor());
    }
}

#[test]
fn another_programs_facts_never_turn_what_enter_means() {
    for case in BETWEEN {
        let mut walk = (case.walk)();
        walk.press(case.before);
        record(walk.path(), &[fact("11-24", case.fact)]);
        walk.take(Message::Changed);
        let facts = walk.facts().len();
        walk.press(case.after);
        assert!(walk.said().contains(case.said), "{}: {}", case.before, walk.said());
        let entered = walk.facts().len() > facts;
        assert_eq!(entered, !case.entered.is_empty(), "{}: {}", case.before, walk.said());
        assert!(
            walk.facts().last().is_none_or(|last| last.contains(case.entered)),
            "{}: {:?}",
            case.before,
            walk.facts()
        );
    }
}

/// What another program did opens a page under what a person writes, and not over it.
#[test]
fn what_a_page_below_opens_does_not_come_over_what_is_written() {
    let mut walk = crate::trial_tasting::tasting();
    walk.press("esc / `T`");
    let revealed = fact("11-25", r#""kind":"trial_revealed","trial":"Cuvée 26""#).replace("T07", "T06");
    record(walk.path(), &[revealed]);
    walk.take(Message::Changed);
    walk.press("`1`");
    assert_eq!(walk.model.pages.top().and_then(|page| page.written()), Some("T1"), "{}", walk.text(80, 24));
    walk.press("esc esc");
    assert!(walk.model.page::<RevealPage>().is_some(), "{}", walk.text(80, 24));
}

/// An act that is refused was decided on what another program entered meanwhile: that is shown, though nobody told of it yet.
#[test]
fn what_another_program_entered_is_shown_where_an_act_was_refused_because_of_it() {
    let mut walk = Walk::small();
    walk.press("b enter enter");
    let barrel = walk.at_vessel().to_owned();
    let moved = format!(
        r#""kind":"wine_moved","from":"{barrel}","to":"T2","volume_ul":225000000,"empties":true,"purpose":"racking""#
    );
    record(walk.path(), &[fact("11-25", &moved).replace("T07", "T06")]);
    let facts = walk.facts();
    walk.press("space");
    assert_eq!(walk.facts(), facts, "{}", walk.said());
    assert!(walk.model.state.vessels.by_label(&barrel).unwrap().wine.is_empty(), "{}", walk.said());
    let desk = Desk::open(walk.path(), Access::ReadOnly).unwrap();
    assert!(walk.model.state == *desk.state(), "{}", walk.said());
}
