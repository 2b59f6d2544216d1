//! The model against three naive forecasts, and its bands against the truth.

use crate::house::{House, climates, habits};
use crate::scored::judge;

/// The part by which the model must beat each naive forecast.
const GOAL: f64 = 0.20;
/// Hundredths by which a band may miss what it says.
const BAND: f64 = 5.0;

/// The model's error is at most so many times that of an observer who has only the barrel's thirst to learn, save where the
/// room is hard to learn; a barrel that is topped thrice a year never tells its thirst well.
const NEAR_THE_BEST: f64 = 1.25;

#[test]
fn beats_the_naive_forecasts_and_says_how_sure_it_is() {
    for house in climates().into_iter().chain(habits()) {
        let judged = judge(std::slice::from_ref(&house));
        let line = judged.line(house.name);
        println!("{line}");
        let scores = judged.scores;
        assert!(scores.count > 500, "{line}");
        for naive in [scores.fixed, scores.last, scores.room] {
            assert!(judged.gain(naive) >= GOAL, "{line}");
        }
        assert!(judged.missed().iter().all(|miss| miss.abs() <= BAND), "{line}");
        assert!(scores.model >= judged.ideal, "nobody knows more than the one who knows all: {line}");
        assert!(scores.model <= NEAR_THE_BEST * judged.ideal || house.name == "rolled", "{line}");
    }
}

/// A cellar of several rooms, as cellars are.
#[test]
fn beats_them_in_cellars_of_several_rooms() {
    let all = climates();
    let named = |name: &str| all.iter().find(|house| house.name == name).unwrap().clone();
    for rooms in [
        ["usual", "one gallon", "four gallons"],
        ["dry and warm", "damp", "twenty millilitres"],
        ["southern", "one gallon", "twenty millilitres"],
    ] {
        let judged = judge(&rooms.map(named));
        let line = judged.line(&rooms.join(", "));
        println!("{line}");
        let scores = judged.scores;
        assert!([scores.fixed, scores.last, scores.room].iter().all(|&other| judged.gain(other) >= GOAL), "{line}");
        assert!(judged.missed().iter().all(|miss| miss.abs() <= BAND), "{line}");
    }
}

/// The room finds the published level again, and its season, whatever the stated climate says.
#[test]
fn a_room_learns_its_level_and_its_season() {
    for house in [climates()[1].clone(), climates()[2].clone(), climates()[6].clone()] {
        let house = House { weather: 0.0, ..house };
        let room = crate::simulated::run(&house).room;
        // The last day simulated is some 550 days after the first; a year of rates around it.
        let rates: Vec<f64> =
            (0..12).map(|month| room.rate_at(20_600.0 + 30.44 * f64::from(month)) * 1_000.0).collect();
        let mean = rates.iter().sum::<f64>() / 12.0;
        let swing =
            (rates.iter().copied().fold(0.0, f64::max) - rates.iter().copied().fold(f64::MAX, f64::min)) / 2.0 / mean;
        // Barrels are not all of factor one: their mean is e^(σ²/2).
        let truth = house.rate_ml * libm::exp(house.factor_spread * house.factor_spread / 2.0);
        assert!((mean / truth - 1.0).abs() < 0.12, "{}: {mean}, not {truth}", house.name);
        assert!((swing - house.season).abs() < 0.12, "{}: {swing}, not {}", house.name, house.season);
    }
}
