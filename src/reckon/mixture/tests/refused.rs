//! What is refused, and the words for it.

use super::super::design::{Kind, Middles, Wanted, lay_out};
use super::super::optimal::{Criterion, candidates};
use super::super::{Bound, Model, Region, RegionError, parse_bound, parse_limit, parse_mixture, pour};
use super::{all, bounds, limit, wanted, within};
use crate::units::Volume;

fn told(bounds: Vec<Bound>, coefficients: Option<(&[f64], Option<f64>, Option<f64>)>) -> String {
    let limits = coefficients.map(|(coefficients, low, high)| limit(coefficients, low, high));
    Region::new(bounds, limits.into_iter().collect()).unwrap_err().to_string()
}

#[test]
fn bounds_that_leave_nothing_are_named() {
    let ranges = [(0.5, 1.0), (0.1, 0.9), (0.6, 1.0)];
    let empty = "No mixture keeps all of these: A at least 50 %; C at least 60 %. Loosen one of them.";
    assert_eq!(told(bounds(&ranges), None), empty);
    let few = told(bounds(&[(0.0, 0.3), (0.0, 0.333), (0.0, 0.3)]), None);
    assert_eq!(
        few,
        "No mixture keeps all of these: A at most 30 %; B at most 33.3 %; C at most 30 %. Loosen one of them."
    );
    let alcohol = told(bounds(&[(0.0, 1.0), (0.2, 1.0)]), Some((&[13.0, 14.0], None, Some(13.1))));
    assert_eq!(alcohol, "No mixture keeps all of these: B at least 20 %; the limit. Loosen one of them.");
    let beyond = told(bounds(&[(0.0, 1.0); 2]), Some((&[13.0, 14.0], Some(15.0), None)));
    assert_eq!(beyond, "No mixture keeps all of these: the limit. Loosen one of them.");
}

#[test]
fn bounds_that_are_none_are_refused() {
    for (ranges, words) in [
        (vec![(0.0, 1.0)], "2 to 10 components, not 1"),
        (vec![(-0.1, 1.0), (0.0, 1.0)], "The least share of 'A' is -0.1"),
        (vec![(0.0, 60.0), (0.0, 1.0)], "The largest share of 'A' is 60"),
        (vec![(f64::NAN, 1.0), (0.0, 1.0)], "The least share of 'A' is NaN"),
        (vec![(0.6, 0.4), (0.0, 1.0)], "'A' is to be at least 60 % and at most 40 %"),
    ] {
        let told = told(bounds(&ranges), None);
        assert!(told.contains(words), "{told}");
    }
    assert!(told(vec![Bound::free("A"); 11], None).contains("not 11"));
    assert!(told(vec![Bound::free("A"), Bound::free("A")], None).contains("Two components are called 'A'"));
    let two = || bounds(&[(0.0, 1.0); 2]);
    assert!(told(two(), Some((&[1.0], Some(0.1), None))).contains("counts 1 components, and there are 2"));
    assert!(told(two(), Some((&[1.0, f64::INFINITY], Some(0.1), None))).contains("no number, or none at all"));
    assert!(told(two(), Some((&[1.0, 0.0], None, None))).contains("no number, or none at all"));
    assert!(told(two(), Some((&[1.0, 0.0], Some(0.6), Some(0.5)))).contains("Turn its values round"));
    let many = vec![limit(&[1.0, 0.0], Some(0.0), None); 33];
    assert_eq!(Region::new(two(), many).err(), Some(RegionError::TooManyLimits(33)));
}

#[test]
fn designs_that_cannot_be_are_refused() {
    let flare = || within(&[(0.40, 0.60), (0.10, 0.50), (0.10, 0.50), (0.03, 0.08)]);
    let fixed = || within(&[(0.2, 0.2), (0.0, 1.0), (0.0, 1.0)]);
    let best = Kind::Optimal(Criterion::Determinant);
    let asked = |kind, glasses| wanted(kind, Model::Quadratic, glasses);
    let own = |free_hand: Vec<Vec<f64>>| Wanted { free_hand, ..asked(best, Some(6)) };
    for (region, wanted, words) in [
        (flare(), asked(Kind::Lattice(2), None), "No whole multiple of a step lies within these bounds"),
        (flare(), asked(Kind::Lattice(usize::MAX), None), "glasses beyond counting"),
        (within(&[(0.2, 0.2), (0.8, 0.8)]), asked(Kind::Lattice(5), None), "leave one blend only"),
        (within(&[(0.2, 0.2), (0.8, 0.8)]), asked(Kind::Spread, Some(12)), "leave one blend only"),
        (
            all(3),
            Wanted { steps: Some(4), ..asked(Kind::Spread, Some(20)) },
            "15 different blends can be poured within these bounds, and 20 are wanted.",
        ),
        (within(&[(0.0, 1.0), (0.0, 1.0), (0.0, 0.0)]), asked(Kind::Spread, Some(8)), "'C' is in none of the glasses"),
        (all(2), Wanted { free_hand: vec![vec![1.0, 0.0]; 2], ..asked(Kind::FreeHand, None) }, "'B' is in none"),
        (all(3), asked(Kind::Lattice(0), None), "at least 1 step"),
        (all(10), asked(Kind::Centroid, None), "That makes 1033 glasses"),
        (all(10), asked(Kind::Lattice(9), None), "That makes 48620 glasses"),
        (all(3), asked(Kind::Lattice(usize::MAX), None), "glasses beyond counting"),
        (all(3), asked(Kind::Lattice(2), Some(12)), "That makes 6 glasses, and 12 are wanted"),
        (flare(), asked(Kind::Corners(Middles::Overall), Some(5)), "That makes 9 glasses, and 5 are wanted"),
        (all(3), asked(best, None), "must know how many glasses"),
        (all(3), asked(best, Some(501)), "at most 500"),
        (
            all(5),
            asked(best, Some(12)),
            "has 15 terms here, and 12 glasses cannot tell them apart. Take 15 or more, or take the linear model.",
        ),
        (fixed(), asked(best, Some(12)), "of the 6 terms of a quadratic model can be told apart inside these bounds"),
        (within(&[(0.2, 0.2), (0.8, 0.8)]), asked(best, Some(12)), "Only 0 of the 3 terms"),
        (all(3), Wanted { repeats: 5, ..asked(best, Some(9)) }, "5 hidden repeats leave too few of 9 glasses"),
        (
            all(3),
            Wanted { repeats: 9, ..asked(Kind::Lattice(2), None) },
            "9 hidden repeats leave too few of 15 glasses",
        ),
        (all(3), own(vec![vec![0.5, 0.5]]), "A mixture has a share for each of 3 components"),
        (all(3), own(vec![vec![0.5, 0.6, -0.1]]), "not within bounds: C not below nothing"),
        (all(3), own(vec![vec![1.0, 0.0, 0.0]; 7]), "7 glasses are given, and only 6 are wanted"),
        (all(3), own(vec![vec![1.0, 0.0, 0.0]; 3]), "With 3 glasses given, the other 3 cannot tell the 6 terms"),
    ] {
        let told = lay_out(&region, &wanted, &|| false, &mut |_| {}).unwrap_err().to_string();
        assert!(told.contains(words), "{told}");
    }
    assert!(candidates(&fixed(), 1).len() > 2);
}

#[test]
fn glasses_that_cannot_be_poured_are_refused() {
    let told = |glass, step| {
        pour(&all(2), &[vec![0.5, 0.5]], Volume::from_ul(glass), Volume::from_ul(step)).unwrap_err().to_string()
    };
    assert_eq!(told(50_000, 700), "A glass of 50 mL is no whole number of steps of 0.7 mL. Take 49.7 mL or 50.4 mL.");
    assert_eq!(told(500, 1_000), "A glass of 0.5 mL is no whole number of steps of 1 mL. Take 1 mL.");
    assert!(told(0, 500).contains("more than nothing"));
    assert!(told(11_000_000, 500).contains("at most 10 L"));
    assert!(told(50_000, 0).contains("steps of more than nothing"));
    let none = pour(&all(2), &[vec![f64::NAN, 0.5]], Volume::from_ml(50), Volume::from_ml(1)).unwrap_err();
    assert!(none.to_string().contains("no share"));
    let pouring = pour(&all(2), &[vec![0.5, 0.5]], Volume::from_ml(50), Volume::from_ml(1)).unwrap();
    assert!(pouring.draws(1, f64::NAN).is_err() && pouring.draws(1, -0.1).is_err());
    assert!(pour(&all(2), &[], Volume::from_ml(50), Volume::from_ml(1)).unwrap().draws(1, 0.1).unwrap().is_empty());
}

fn names() -> Vec<String> {
    ["A", "K-2", "12"].map(str::to_owned).to_vec()
}

#[test]
fn bounds_limits_and_mixtures_are_read_as_people_write_them() {
    for (text, bound) in [
        ("A=10..60%", (0, 0.1, 0.6)),
        ("a = 0.1 .. 0.6", (0, 0.1, 0.6)),
        ("K-2=..60%", (1, 0.0, 0.6)),
        ("12=10%..", (2, 0.1, 1.0)),
        ("12=12,5%", (2, 0.125, 0.125)),
        ("A=10%..60%", (0, 0.1, 0.6)),
    ] {
        let read = parse_bound(text, &names()).unwrap();
        assert!(read.0 == bound.0 && (read.1 - bound.1).abs() < 1e-12 && (read.2 - bound.2).abs() < 1e-12, "{read:?}");
    }
    for (text, coefficients, low, high) in [
        ("0.8 A + K-2 >= 75%", [0.8, 1.0, 0.0], Some(0.75), None),
        ("variety: A+80% K-2 ≥ 0.75", [1.0, 0.8, 0.0], Some(0.75), None),
        ("13 <= 13.1 A + 14.2*K-2 + 12 12 <= 13.8", [13.1, 14.2, 12.0], Some(13.0), Some(13.8)),
        ("A - K-2 <= 0", [1.0, -1.0, 0.0], None, Some(0.0)),
        ("12 <= 10%", [0.0, 0.0, 1.0], None, Some(0.1)),
        ("50% >= A >= 20%", [1.0, 0.0, 0.0], Some(0.2), Some(0.5)),
        ("A + K-2 20..50%", [1.0, 1.0, 0.0], Some(0.2), Some(0.5)),
        ("A + K-2 ..50%", [1.0, 1.0, 0.0], None, Some(0.5)),
    ] {
        let read = parse_limit(text, &names()).unwrap();
        assert_eq!((read.coefficients, read.low, read.high), (coefficients.to_vec(), low, high), "{text}");
        assert_eq!(read.words, text);
    }
    assert_eq!(parse_mixture("A=50%, 12=0.5", &names()), Ok(vec![0.5, 0.0, 0.5]));
}

#[test]
fn words_that_say_nothing_are_refused() {
    for (text, words) in [
        ("A", "'A' is no bound. Write it like A=10..60%."),
        ("A=..", "'A=..' is no bound"),
        ("X=1..2%", "'X' is none of the components A, K-2, 12."),
        ("A=much", "'much' is not a number"),
        ("A=1e9", "'1e9' is not a number"),
    ] {
        let told = parse_bound(text, &names()).unwrap_err().to_string();
        assert!(told.contains(words), "{told}");
    }
    for (text, words) in [
        ("A + K-2", "is no limit. Write it like"),
        ("A >= 1 <= 2", "is no limit"),
        ("A + X >= 75%", "'X' is none of the components"),
        ("A + A >= 75%", "'A' stands there twice"),
        (">= 75%", "'' is none of the components"),
        ("A >= ", "'' is not a number"),
    ] {
        let told = parse_limit(text, &names()).unwrap_err().to_string();
        assert!(told.contains(words), "{told}");
    }
    for (text, words) in [
        ("A=50%", "sums to 50.00 %; the shares of a mixture sum to 100 %"),
        ("A=150%, 12=-50%", "sums to 100.00 %"),
        ("A=50%, A=50%", "'A' stands there twice"),
        ("half A", "is no mixture"),
    ] {
        let told = parse_mixture(text, &names()).unwrap_err().to_string();
        assert!(told.contains(words), "{told}");
    }
}
