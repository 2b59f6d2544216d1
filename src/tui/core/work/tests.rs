//! What the desk is asked by the screen, tried without one.

use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use super::*;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::floor::vessel::VesselRetired;
use crate::tui::edge::driver::Incoming;

fn morning() -> Moment {
    Moment::parse("2026-11-25T06:41:00+01:00").unwrap()
}

/// A search through the facts: how many vessels there are.
fn vessels() -> Search {
    Search::in_facts(|desk, _| Ok(desk.state().vessels.len()))
}

fn posted(posted: &Receiver<Incoming<Answer>>) -> Answer {
    match posted.recv_timeout(Duration::from_secs(60)) {
        // The check of the facts is told of by the way.
        Ok(Incoming::Answer(Answer::Checked)) => self::posted(posted),
        Ok(Incoming::Answer(answer)) => answer,
        _ => panic!("nothing was posted"),
    }
}

#[test]
fn what_is_found_out_apart_is_posted_under_its_number() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.cellar");
    crate::desk::create_demo(&path, morning()).unwrap();
    let mut hands = Hands::new(path, Access::ReadWrite, morning);
    let (sender, receiver) = channel();
    let mailbox = Mailbox(sender);
    assert_eq!(hands.carry_out(Work::Open, &mailbox).unwrap().len(), 1);
    assert!(hands.carry_out(Work::Find { number: 7, search: vessels() }, &mailbox).unwrap().is_empty());
    let Answer::Found { number: 7, told: Ok(found) } = posted(&receiver) else { panic!("it was not found") };
    assert!(found.of::<usize>().is_some_and(|count| *count > 12));
}

#[test]
fn what_the_desk_refuses_keeps_its_kind() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.cellar");
    crate::desk::create_demo(&path, morning()).unwrap();
    let mut hands = Hands::new(path, Access::ReadWrite, morning);
    let mailbox = Mailbox(channel().0);
    hands.carry_out(Work::Open, &mailbox).unwrap();
    let retired = VesselRetired { vessel: Label::new("no such").unwrap(), why: Text::new("old").unwrap() };
    let act = Act::of(vec![What::VesselRetired(retired)], Label::new("mk").unwrap());
    let enter = Work::Enter { act, say: String::new(), then: Then::STAY };
    let answers = hands.carry_out(enter, &mailbox).unwrap();
    let [Answer::Refused(DeskError::Refused(refusal))] = answers.as_slice() else { panic!("{answers:?}") };
    assert!(matches!(**refusal, Refusal::UnknownVessel(_)), "{refusal:?}");
}

#[test]
fn a_search_in_a_cellar_that_is_gone_is_a_sentence() {
    let mut hands = Hands::new("gone/no.cellar".into(), Access::ReadOnly, morning);
    let (sender, receiver) = channel();
    let find = Work::Find { number: 1, search: vessels() };
    assert!(hands.carry_out(find, &Mailbox(sender)).unwrap().is_empty());
    let Answer::Found { told: Err(why), .. } = posted(&receiver) else { panic!("no sentence was posted") };
    assert!(why.ends_with('.'), "{why}");
}

/// A search takes the place of what runs of its kind, and of nothing else; the best so far is told on the way.
#[test]
fn a_search_is_stopped_by_its_number_and_by_another_of_its_kind() {
    let mut hands = Hands::new("gone/no.cellar".into(), Access::ReadOnly, morning);
    let (sender, receiver) = channel();
    let mailbox = Mailbox(sender);
    let wait = |sign: char| {
        Search::of(move |apart| {
            apart.so_far(sign);
            while !apart.is_stopped() {
                std::thread::yield_now();
            }
            Ok(sign)
        })
    };
    let sign = |answer: Answer| match answer {
        Answer::SoFar { number, found } => (number, found.of::<char>().copied(), false),
        Answer::Found { number, told } => (number, told.unwrap().of::<char>().copied(), true),
        other => panic!("{other:?}"),
    };
    hands.carry_out(Work::Find { number: 1, search: wait('a') }, &mailbox).unwrap();
    assert_eq!(sign(posted(&receiver)), (1, Some('a'), false));
    let other = Search::of(|_| Ok(String::new()));
    hands.carry_out(Work::Find { number: 2, search: other }, &mailbox).unwrap();
    assert!(matches!(posted(&receiver), Answer::Found { number: 2, .. }));
    hands.carry_out(Work::Find { number: 3, search: wait('b') }, &mailbox).unwrap();
    let mut both = [sign(posted(&receiver)), sign(posted(&receiver))];
    both.sort_unstable();
    assert_eq!(both, [(1, Some('a'), true), (3, Some('b'), false)]);
    hands.carry_out(Work::Stop { number: 3 }, &mailbox).unwrap();
    assert_eq!(sign(posted(&receiver)), (3, Some('b'), true));
}
