//! A rack is lifted on the map and set down elsewhere.

use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;

use crate::pictures::{keep, keep_both};
use crate::walk::Walk;

/// Where a barrel lies.
fn place(walk: &Walk, label: &str) -> String {
    let state = &walk.model.state;
    state.place_of(state.vessels.by_label(label).unwrap()).unwrap().to_string()
}

#[test]
fn a_rack_is_lifted_where_it_stands_and_set_down_where_it_goes() {
    let mut walk = Walk::small();
    walk.press("`0405` enter enter `lift this` enter");
    assert_eq!(walk.said(), "The rack at long/A-01-3 is on the forks.");
    assert!(walk.text(80, 24).contains("Never lift a rack from under others."), "{}", walk.text(80, 24));
    walk.press("`A-04-3-a` enter");
    keep_both(&walk, "lifting");
    assert_eq!(walk.facts(), [""; 0]);
    walk.press("enter");
    keep(&walk, "lifting-acts");
    walk.press("`1` enter");
    assert_eq!(walk.said(), "The rack of long/A-01-3 stands at long/A-04-3 now.");
    keep(&walk, "lifting-set-down");
    assert_eq!(walk.facts().len(), 1);
    assert_eq!((place(&walk, "0405"), place(&walk, "0406")), ("long/A-04-3-a".to_owned(), "long/A-04-3-b".to_owned()));
    walk.press("u");
    assert_eq!(place(&walk, "0406"), "long/A-01-3-b");
    walk.press("y");
    assert_eq!(place(&walk, "0406"), "long/A-04-3-b");
    walk.press("enter `set the lifted` enter");
    assert_eq!(walk.said(), "No rack is lifted. Go to one and lift it first.");
}

/// Neither from under others, nor onto where one lies, nor onto air; esc leaves it where it stood.
#[test]
fn a_rack_that_cannot_be_lifted_or_set_down_says_why() {
    let mut walk = Walk::small();
    for (keys, why) in [
        ("`0401` enter enter `lift this` enter", "stands under 0403: a rack is never lifted from under others"),
        ("esc esc `A-04-3-a` enter enter `lift this` enter", "The rack at long/A-04-3 is empty"),
        ("esc esc `0405` enter enter `lift this` enter esc", "The rack stays at long/A-01-3."),
        ("enter `lift this` enter enter `set the lifted` enter", "The rack stands at long/A-01-3 already"),
        ("esc esc `0412` enter enter `set the lifted` enter", "is not empty: 0411 lies there"),
        ("esc esc `B-04-2-a` enter enter `set the lifted` enter", "The rack of long/A-01-3 stands at long/B-04-2 now."),
        ("u `0424` enter enter `lift this` enter", "stands under"),
    ] {
        walk.press(keys);
        assert!(walk.said().contains(why), "{keys}: {}", walk.said());
    }
}

/// What another program did with the rack goes before what was lifted here.
#[test]
fn a_rack_that_another_program_moved_is_not_on_the_forks_any_more() {
    let mut walk = Walk::small();
    walk.press("`0405` enter enter `lift this` enter");
    let mut other = walk.reopened();
    other.press("`0405` enter enter `lift this` enter `A-04-3-a` enter enter `1` enter");
    assert_eq!(other.facts().len(), 1, "{}", other.said());
    walk.take(Message::Answer(Answer::Changed(other.model.state.clone())));
    assert!(walk.said().contains("What was lifted does not stand at long/A-01-3 any more."), "{}", walk.said());
    assert!(!walk.text(80, 24).contains("[ ] lifted"), "{}", walk.text(80, 24));
}
