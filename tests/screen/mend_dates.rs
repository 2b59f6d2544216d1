//! What a clock that was ahead dated wrongly is mended on the screen, as one act.

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::label::{Label, Text};
use barrelwalk::cellar::core::moment::DAY_MICROSECONDS;
use barrelwalk::cellar::jobs::floor::noting::Noted;
use barrelwalk::desk::{Access, Act, Desk};
use barrelwalk::tui::books::mend_dates::MendDatesPage;

use crate::cellar::morning;
use crate::pictures::keep;
use crate::walk::Walk;

/// The small cellar, in which two notes were entered by a clock that was a year ahead; the clock is right again.
pub fn ahead() -> Walk {
    let made = Walk::small();
    let mut desk = Desk::open(made.path(), Access::ReadWrite).unwrap();
    for (day, text) in [(365, "bung renewed"), (367, "smells of leather")] {
        let noted = Noted { about: Label::new("0401").unwrap(), text: Text::new(text).unwrap() };
        let at = morning().at_instant(morning().instant() + day * DAY_MICROSECONDS);
        desk.enter(&Act::of(vec![What::Noted(noted)], Label::new("jo").unwrap()), at).unwrap();
    }
    drop(desk);
    let mut walk = made.reopened();
    walk.keep_cellar_of(made);
    walk
}

fn opened() -> Walk {
    let mut walk = ahead();
    walk.press("/ `mend dates` enter");
    assert!(walk.model.page::<MendDatesPage>().is_some(), "{}", walk.said());
    walk
}

#[test]
fn the_day_of_the_first_is_said_and_all_of_it_is_mended_as_one_act() {
    let mut walk = opened();
    keep(&walk, "mend-dates");
    walk.press("`22 nov`");
    assert!(
        walk.text(80, 24).contains("2 dates would be mended, the first: noted 0401, 22 Nov 2026"),
        "{}",
        walk.text(80, 24)
    );
    walk.press("enter");
    assert!(walk.said().starts_with("This laptop says "), "{}", walk.said());
    walk.press("enter");
    assert!(walk.said().contains("2 dates mended, the first: noted 0401, 22 Nov 2026"), "{}", walk.said());
    assert!(walk.is_on_floor());
    let facts = walk.facts();
    assert_eq!(facts.iter().filter(|fact| fact.starts_with("retracted")).count(), 2, "{facts:?}");
    // One undo takes all of it back.
    walk.press("u");
    walk.press("/ `mend dates` enter");
    assert!(walk.text(80, 24).contains("2 entries, "), "{}", walk.text(80, 24));
}

#[test]
fn what_is_no_day_stays_written_and_nothing_is_entered() {
    let mut walk = opened();
    let facts = walk.facts().len();
    walk.press("enter");
    assert_eq!(walk.said(), "Write on which day the first of it happened.");
    walk.press("`31 nov` enter");
    assert!(walk.said().contains("is no day and no time"), "{}", walk.said());
    assert_eq!(walk.model.page::<MendDatesPage>().map(|_| ()), Some(()));
    assert_eq!(walk.facts().len(), facts);
}

#[test]
fn where_nothing_is_ahead_it_says_so() {
    let mut walk = Walk::small();
    walk.press("/ `mend dates` enter");
    assert_eq!(walk.said(), "Nothing is dated ahead of this laptop's clock.");
}
