//! A trial is laid out in the cellar: the same question and seed make the same trial, inside what was asked for.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::views::bench::laying_out::{LaidOut, NoLayout, TrialAsked};
use barrelwalk::cellar::views::books::lineage::NewWood;
use barrelwalk::reckon::mixture::Model;
use barrelwalk::reckon::mixture::design::{Kind, Middles, USUAL_TRIES, lay_out};
use barrelwalk::units::Volume;

use crate::support::given::Cellar;

fn label(text: &str) -> Label {
    Label::new(text).unwrap()
}

/// Thirds of T and U for two tasters.
fn asked() -> TrialAsked {
    TrialAsked {
        trial: label("Q"),
        from: vec![label("T"), label("U")],
        after: None,
        available: Vec::new(),
        reserve: Vec::new(),
        free_hand: Vec::new(),
        kind: Kind::Lattice(3),
        model: Model::Linear,
        count: None,
        repeats: Some(1),
        tries: USUAL_TRIES,
        bounds: Vec::new(),
        limits: Vec::new(),
        litres: None,
        glass: Volume::from_ml(50),
        read: Volume::from_ul(500),
        panel: vec![label("anna"), label("ben")],
        flight: 15,
        most: 45,
        seed: 7,
    }
}

fn laid(asked: TrialAsked) -> Result<LaidOut, NoLayout> {
    let search = |region: &_, wanted: &_| lay_out(region, wanted, &|| false, &mut |_| {});
    Cellar::furnished().state.lay_out_trial(asked, &NewWood::default(), search)
}

#[test]
fn the_same_question_lays_out_the_same_trial() {
    let state = Cellar::furnished().state;
    let sealed = |salt| laid(asked()).unwrap().sealed(&state, label(salt)).unwrap();
    let fact = sealed("5a1ad");
    assert_eq!((fact.glasses.len(), fact.servings.len()), (5, 2));
    assert_eq!(fact.glasses.iter().filter(|glass| glass.repeat_of.is_some()).count(), 1);
    assert_eq!(sealed("5a1ad"), fact);
    assert_ne!(sealed("5a1ae").digest, fact.digest);
    let laid = laid(asked()).unwrap();
    assert!(laid.shortfalls().iter().all(|words| words.starts_with("Rounded")), "{:?}", laid.shortfalls());
    let poured: Volume = laid.draws(&fact).unwrap().iter().map(|draw| draw.poured).sum();
    assert_eq!(poured, Volume::from_ml(50 * 5 * 2));
}

#[test]
fn glasses_keep_to_bounds_and_to_what_there_is() {
    let bounded =
        laid(TrialAsked { kind: Kind::Corners(Middles::Overall), bounds: vec!["T=20..40%".to_owned()], ..asked() });
    let fact = bounded.unwrap().sealed(&Cellar::furnished().state, label("5a1ad")).unwrap();
    assert!(fact.glasses.iter().all(|glass| (200_000..=400_000).contains(&glass.shares.millionths()[0])));
    assert_eq!(fact.bounds.unwrap().as_str(), "T=20..40%");
}

#[test]
fn what_cannot_be_asked_for_is_said() {
    let refused = |asked| laid(asked).unwrap_err().to_string();
    assert_eq!(
        refused(TrialAsked { reserve: vec![(label("V"), Volume::from_litres(1))], ..asked() }),
        "V is none of the vessels of the trial. Name it with --from, or leave it out."
    );
    assert_eq!(
        refused(TrialAsked { litres: Some(Volume::ZERO), ..asked() }),
        "A blend of nothing is no blend. Give its litres, or leave --litres out."
    );
    assert!(refused(TrialAsked { limits: vec!["loudness <= 3".to_owned()], ..asked() }).contains("loudness"));
    assert!(refused(TrialAsked { from: vec![label("T"), label("nowhere")], ..asked() }).contains("nowhere"));
}
