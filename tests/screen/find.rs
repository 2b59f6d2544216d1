//! The find box: places, what can be done on every page, and what it says where nothing is typed.

use barrelwalk::tui::books::ledger::Ledger;
use barrelwalk::tui::floor::find::{Find, Found};

use crate::walk::Walk;

fn first(walk: &Walk, query: &str) -> Option<Found> {
    Find::of(&walk.model, query).hits(&walk.model).into_iter().next().map(|hit| hit.found)
}

#[test]
fn find_knows_places_however_they_are_typed() {
    let mut walk = Walk::small();
    for typed in ["A-02-1-b", "a-02-1-b", "a-2-1-B", "long/A-02-1-b", "Long/a-02-1-b"] {
        let Some(Found::Place(place)) = first(&walk, typed) else { panic!("{typed}: {:?}", first(&walk, typed)) };
        assert_eq!(place.to_string(), "long/A-02-1-b");
    }
    for typed in ["A-99-1-b", "A-02-1-z", "vault/A-02-1-b", "-", "/", "é-1-é"] {
        assert!(!matches!(first(&walk, typed), Some(Found::Place(_))), "{typed}");
    }
    walk.press("/ `a-02-1-b` enter");
    let cursor = walk.model.cursor.unwrap();
    let place = walk.model.state.rooms.get(cursor.room).place(cursor.slot(&walk.model.state).unwrap()).unwrap();
    assert_eq!((place.to_string().as_str(), walk.is_on_floor()), ("long/A-02-1-b", true));
}

#[test]
fn an_empty_find_box_lists_what_can_be_done_and_says_so() {
    let mut walk = Walk::small();
    walk.press("/");
    let text = walk.text(80, 24);
    assert!(text.contains("what can be done stands above"), "{text}");
    let find: &Find = walk.model.page().unwrap();
    let is_act = |found: &Found| matches!(found, Found::Act(_) | Found::Way(_) | Found::Here(_));
    assert!(find.hits(&walk.model).iter().all(|hit| is_act(&hit.found)));
    // Behind the first every sign is a letter, and esc clears before it goes back.
    walk.press("`a? q/` esc");
    assert!(walk.model.page::<Find>().is_some_and(|find| find.query.is_empty()));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn find_knows_what_can_be_done_on_every_page() {
    let mut walk = Walk::small();
    let title = "A month or a year";
    assert_eq!(first(&walk, title), Some(Found::There { page: "The ledger", act: title }));
    walk.press("/ `A month or` enter");
    assert!(walk.model.page::<Ledger>().is_some(), "{:?}", walk.model.pages);
    assert_eq!(walk.said(), "A month or a year: c does it here.");
    walk.comes();
    // Over the page itself it is done at once.
    let before = walk.text(80, 24);
    walk.press("/ `A month or` enter").comes();
    assert!(walk.model.page::<Ledger>().is_some());
    assert_ne!(walk.text(80, 24).lines().next(), before.lines().next());
}

#[test]
fn what_is_done_on_a_page_that_the_floor_does_not_open_says_how_one_comes_there() {
    let mut walk = Walk::small();
    walk.press("/ `Rack or filter` enter");
    let how = "'Rack or filter' is done on the page 'From tank to tank': at a tank, d on the floor lists it.";
    assert_eq!(walk.said(), how);
    assert!(walk.model.page::<Find>().is_some());
}

/// The words that a cellar has for the jobs of a year, each with the row that does it.
#[test]
fn find_knows_the_jobs_of_a_year() {
    let jobs = [
        ("new barrel", "Begin a cellar"),
        ("history", "The journal of this vessel"),
        ("barrel card", "The journal of this vessel"),
        ("fill plan", "Works"),
        ("quarantine", "Hold or free this barrel"),
        ("barrel-down", "Works"),
        ("place", "Say where a vessel lies"),
        ("forklift", "Lift this rack"),
        ("malolactic", "Set the stage of a lot"),
        ("due", "Begin a round"),
        ("topping order", "Begin a round"),
        ("keg", "Change the topping vessel"),
        ("vintage", "Lineage and claims"),
        ("seeps", "Write a note"),
        ("thirsty", "Picture of this barrel"),
        ("second laptop", "Bring two laptops together"),
        ("missed", "Close the round"),
        ("KMBS", "Works"),
        ("total SO2", "The lot"),
        ("composite", "Plan a sample of this lot"),
        ("lab sheet", "Laboratory tests"),
        ("outlier", "The lot"),
        ("alarm", "The lot"),
        ("sulfur empties", "Barrel upkeep"),
        ("wash", "Barrel upkeep"),
        ("blind", "Blind at the bench"),
        ("fault", "A word for tastes"),
        ("Brett", "Write a taste"),
        ("cooper", "Change vessels"),
        ("racking order", "Works"),
        ("rack and return", "Works"),
        ("lees", "Wine is lost"),
        ("blanket", "Lay gas over wine"),
        ("new name", "Rename a thing"),
        ("stock", "The ledger"),
        ("blend trial", "Set a trial"),
        ("panel", "Blind at the bench"),
        ("reserve", "A blend of tanks"),
        ("blend order", "A blend of tanks"),
        ("sign off", "A blend of tanks"),
        ("fining", "Blind at the bench"),
        ("checklist", "Before bottling"),
        ("lot code", "Bottle this vessel"),
        ("breakage", "Bottle this vessel"),
        ("pallet", "Bottles in their bins"),
        ("dispatch", "Bottles in their bins"),
        ("recall", "Trace to the bottles"),
        ("month", "The ledger"),
        ("stocktake", "Count what is here"),
        ("label minimum", "Lineage and claims"),
        ("inspector", "Give out the records"),
        ("mistake", "The journal"),
        ("spelling", "What a material is"),
        ("work sheet", "Print a page"),
        ("who did what", "The journal"),
        ("backup", "Keep a safe copy"),
        ("entering for", "Enter for a day that is over"),
        ("another day", "Enter for a day that is over"),
    ];
    let walk = Walk::small();
    let missing: Vec<_> = jobs
        .into_iter()
        .filter(|(said, row)| !Find::of(&walk.model, said).hits(&walk.model).iter().any(|hit| hit.name == *row))
        .collect();
    assert_eq!(missing, []);
}

/// What a cellar says for its jobs, whatever they are called here.
#[test]
fn find_knows_what_a_cellar_says() {
    let said =
        "rinse wash empty steam soak SO2 blend fining filter sample addition print report leak rack dose chart dip";
    for word in said.split(' ') {
        assert!(first(&Walk::small(), word).is_some(), "{word}");
    }
    // What only the desk does says with which command.
    let mut walk = Walk::small();
    walk.press("/ `print` enter");
    assert!(walk.said().contains("barrelwalk sheet"), "{}", walk.said());
    assert!(walk.model.page::<Find>().is_some());
}
