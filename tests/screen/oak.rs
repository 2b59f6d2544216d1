//! The page of oak judged.

use barrelwalk::tui::core::marks::ASCII;
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::wood::oak::OakPage;

use crate::cellar::{create, fact, record};
use crate::walk::{Walk, looks, nothing};

/// Opens the page from the find box.
const OPENS: &str = "/ `what the oak did` enter";

/// The small cellar with what two people gave its barrels: those of two coopers, one of whom made all that is of Vosges, and two of nobody known.
fn tasted() -> Walk {
    let scores = [
        ("0401", 14.0, 13.0),
        ("0402", 14.5, 13.5),
        ("0410", 13.5, 13.0),
        ("0417", 14.0, 12.5),
        ("0418", 15.0, 13.5),
        ("0403", 15.5, 14.0),
        ("0404", 16.0, 15.0),
        ("0411", 15.0, 14.5),
        ("0412", 16.0, 14.5),
        ("0420", 15.5, 15.0),
        ("0405", 14.5, 14.0),
        ("0406", 14.0, 13.5),
    ];
    Walk::made(|path| {
        create(path);
        let say = |vessel: &str, score: f64| {
            fact("11-22", &format!(r#""kind":"tasted","vessel":"{vessel}","score":{score}"#))
        };
        let anna = |line: String| line.replace(r#""by":"mk""#, r#""by":"anna""#);
        let facts: Vec<String> =
            scores.iter().flat_map(|&(vessel, one, other)| [say(vessel, one), anna(say(vessel, other))]).collect();
        record(path, &facts);
    })
}

#[test]
fn what_is_told_comes_first_and_tab_turns_to_the_next_quality() {
    let mut walk = tasted();
    walk.press(OPENS);
    assert!(walk.text(80, 24).contains("working"));
    walk.comes();
    for size in [(80, 24), (160, 48)] {
        let text = walk.text(size.0, size.1);
        assert!(text.contains("What the oak did, by cooper") && text.contains("Bent Stave"), "{text}");
    }
    walk.press("end");
    assert!(walk.text(80, 24).contains("Evaporation is that of a barrel of 225 L"), "{}", walk.text(80, 24));
    for quality in ["by forest", "by toast", "by seasoning", "by fill"] {
        walk.press("tab").comes();
        assert!(walk.text(80, 24).contains(quality), "{}", walk.text(80, 24));
    }
    assert!(walk.text(80, 24).contains("2nd fill"), "{}", walk.text(80, 24));
    walk.model.looks = looks(Palette::Mono, &ASCII);
    assert!(!walk.text(80, 24).contains('±'));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn a_cellar_of_few_scores_says_that_it_tells_nothing() {
    let mut walk = Walk::small();
    walk.press(OPENS).comes();
    assert!(walk.text(80, 24).contains("nothing can be told"), "{}", walk.text(80, 24));
}

#[test]
fn esc_stops_waiting_and_what_comes_late_is_dropped() {
    let mut walk = Walk::small();
    walk.press(&format!("{OPENS} esc"));
    assert!(walk.is_on_floor());
    walk.press(OPENS);
    walk.take(nothing(walk.asked() - 1, "late"));
    assert!(walk.model.page::<OakPage>().is_some());
    walk.comes();
}
