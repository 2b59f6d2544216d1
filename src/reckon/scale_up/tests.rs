//! Batches against what they must always be, against naive search and against a solver of linear programmes.

use microlp::{ComparisonOp, OptimizationDirection, Problem};
use proptest::prelude::*;

use super::*;

fn shares(millionths: &[u32]) -> Shares {
    Shares::from_millionths(millionths.to_vec()).unwrap()
}

fn tank(name: &str, holds: Volume, keep: Volume) -> Tank {
    Tank { name: name.to_owned(), holds, keep, taking: Taking::AsAsked }
}

fn litre_tanks(litres: &[(u64, u64)]) -> Vec<Tank> {
    let named = |(at, &(holds, keep)): (usize, &(u64, u64))| {
        tank(&format!("T{}", at + 1), Volume::from_litres(holds), Volume::from_litres(keep))
    };
    litres.iter().enumerate().map(named).collect()
}

fn asked<'a>(shares: &'a Shares, tanks: &'a [Tank]) -> Asked<'a> {
    Asked { shares, tanks, tolerance: None, room: None, litres: None }
}

#[test]
fn the_tank_that_gives_out_first_sets_the_batch() {
    let (ratio, tanks) = (shares(&[400_000, 600_000]), litre_tanks(&[(1_000, 200), (3_000, 0)]));
    let batch = scale_up(&asked(&ratio, &tanks)).unwrap();
    assert_eq!(batch.volume, Volume::from_litres(2_000));
    assert_eq!(batch.parts, [800, 1_200].map(Volume::from_litres));
    assert_eq!(batch.left, [200, 1_800].map(Volume::from_litres));
    assert_eq!(batch.limit, Limit::Tanks(vec![0]));
    assert_eq!(batch.one_more_litre, [(0, Volume::from_ml(2_500))]);
    // T1 has nothing to spare, so that it goes first though it is the smaller.
    assert_eq!(batch.transfers, [0, 1]);
}

#[test]
fn where_two_give_out_together_a_litre_of_one_brings_nothing() {
    let (ratio, tanks) = (shares(&[500_000, 500_000]), litre_tanks(&[(100, 0), (100, 0)]));
    let batch = scale_up(&asked(&ratio, &tanks)).unwrap();
    assert_eq!((batch.limit, batch.one_more_litre), (Limit::Tanks(vec![0, 1]), vec![]));
    // Within a tolerance a litre of either helps.
    let tolerant = Asked { tolerance: Some(Tolerance::USUAL), ..asked(&ratio, &tanks) };
    let batch = scale_up(&tolerant).unwrap();
    assert_eq!(batch.one_more_litre.iter().map(|(at, _)| *at).collect::<Vec<_>>(), [0, 1]);
}

#[test]
fn a_tolerance_makes_a_larger_batch_with_less_of_what_is_scarce() {
    let (ratio, tanks) = (shares(&[400_000, 600_000]), litre_tanks(&[(800, 0), (3_000, 0)]));
    let tolerant = Asked { tolerance: Some(Tolerance::USUAL), ..asked(&ratio, &tanks) };
    let batch = scale_up(&tolerant).unwrap();
    // 800 L are 39 % of 2 051.282051 L.
    assert_eq!(batch.volume, Volume::from_ul(2_051_282_051));
    assert_eq!(batch.parts, [Volume::from_litres(800), Volume::from_ul(1_251_282_051)]);
    // What can be made in the ratio itself is made in it.
    let less = Asked { litres: Some(Volume::from_litres(2_000)), ..tolerant };
    assert_eq!(scale_up(&less).unwrap().parts, [800, 1_200].map(Volume::from_litres));
}

#[test]
fn the_receiving_tank_sets_the_batch_where_it_is_smaller() {
    let (ratio, tanks) = (shares(&[400_000, 600_000]), litre_tanks(&[(1_000, 0), (3_000, 0)]));
    let small = Asked { room: Some(Volume::from_litres(1_500)), ..asked(&ratio, &tanks) };
    let batch = scale_up(&small).unwrap();
    assert_eq!((batch.volume, batch.limit), (Volume::from_litres(1_500), Limit::Room));
    let too_much = Asked { litres: Some(Volume::from_litres(2_000)), ..small };
    assert_eq!(
        scale_up(&too_much).unwrap_err().to_string(),
        "2000.0 L does not fit the receiving tank, which has room for 1500.0 L. The largest batch that fits is 1500.0 L."
    );
    let beyond = Asked { litres: Some(Volume::from_litres(3_000)), ..asked(&ratio, &tanks) };
    assert_eq!(
        scale_up(&beyond).unwrap_err().to_string(),
        "3000.0 L cannot be made in this ratio: T1 gives out. The largest batch is 2500.0 L."
    );
    let no_room = Asked { room: Some(Volume::ZERO), ..asked(&ratio, &tanks) };
    assert_eq!(scale_up(&no_room), Err(ScaleError::NoRoom));
    let nothing = Asked { litres: Some(Volume::ZERO), ..asked(&ratio, &tanks) };
    assert_eq!(scale_up(&nothing), Err(ScaleError::NothingAsked));
}

#[test]
fn a_ratio_that_needs_an_empty_tank_is_refused() {
    let tanks = litre_tanks(&[(1_000, 0), (0, 0), (50, 60)]);
    let needs = |millionths: &[u32]| scale_up(&asked(&shares(millionths), &tanks)).unwrap_err();
    assert_eq!(needs(&[500_000, 500_000, 0]), ScaleError::Empty("T2".to_owned()));
    assert!(matches!(needs(&[500_000, 0, 500_000]), ScaleError::AllKept { name, .. } if name == "T3"));
    assert_eq!(needs(&[500_000, 500_000]), ScaleError::Count { shares: 2, tanks: 3 });
    // Where nothing of it is asked for, it may be empty.
    let alone = scale_up(&asked(&shares(&[1_000_000, 0, 0]), &tanks)).unwrap();
    assert_eq!(alone.volume, Volume::from_litres(1_000));
    assert_eq!(alone.transfers, [0]);
}

#[test]
fn a_tank_is_taken_whole_or_it_is_said_what_stays() {
    let ratio = shares(&[500_000, 500_000]);
    let mut tanks = litre_tanks(&[(1_010, 0), (1_000, 0)]);
    tanks[0].taking = Taking::Whole;
    let told = scale_up(&asked(&ratio, &tanks)).unwrap_err().to_string();
    assert_eq!(
        told,
        "T1 cannot be taken whole: 10.0 L of it would stay. Change the ratio, allow a tolerance, or leave the rest."
    );
    let tolerant = Asked { tolerance: Some(Tolerance::USUAL), ..asked(&ratio, &tanks) };
    let batch = scale_up(&tolerant).unwrap();
    assert_eq!(batch.parts, [1_010, 1_000].map(Volume::from_litres));
    tanks[0].taking = Taking::InPlace;
    let in_place = Asked { tolerance: Some(Tolerance::USUAL), ..asked(&ratio, &tanks) };
    assert_eq!(scale_up(&in_place).unwrap().transfers, [1]);
}

fn course<'a>(shares: &'a Shares, tanks: &'a [Tank], arrived: &'a [Volume], planned: u64) -> Course<'a> {
    Course { shares, tanks, arrived, planned: Volume::from_litres(planned), room: None }
}

#[test]
fn too_much_of_one_makes_a_larger_blend_of_the_same_ratio() {
    let ratio = shares(&[400_000, 600_000]);
    let (left, arrived) = (litre_tanks(&[(180, 0), (3_000, 0)]), [Volume::from_litres(820), Volume::ZERO]);
    let course = course(&ratio, &left, &arrived, 2_000);
    assert_eq!(course.running(), Shares::pure(0, 2));
    let next = course.correction().unwrap();
    assert_eq!((next.volume, next.exact, next.off), (Volume::from_litres(2_050), true, 0));
    assert_eq!(next.still, [Volume::ZERO, Volume::from_litres(1_230)]);
    assert_eq!(next.transfers, [1]);
}

#[test]
fn a_tank_that_gave_out_early_makes_a_smaller_one() {
    let ratio = shares(&[400_000, 600_000]);
    let (left, arrived) = (litre_tanks(&[(0, 0), (3_000, 0)]), [Volume::from_litres(780), Volume::ZERO]);
    let next = course(&ratio, &left, &arrived, 2_000).correction().unwrap();
    assert_eq!((next.volume, next.exact), (Volume::from_litres(1_950), true));
}

#[test]
fn where_the_ratio_cannot_come_out_the_nearest_is_told() {
    let ratio = shares(&[500_000, 500_000]);
    let (left, arrived) = (litre_tanks(&[(0, 0), (100, 0)]), [Volume::from_litres(600), Volume::from_litres(400)]);
    let next = course(&ratio, &left, &arrived, 1_000).correction().unwrap();
    assert_eq!((next.exact, next.still.as_slice()), (false, &[Volume::ZERO, Volume::from_litres(100)][..]));
    assert_eq!(next.off, 45_455); // 500 of 1,100 L
    assert_eq!(next.volume, Volume::from_litres(1_100));
    // Nothing has arrived yet: the plan itself.
    let fresh = course(&ratio, &litre_tanks(&[(600, 0), (600, 0)]), &[Volume::ZERO; 2], 1_000).correction().unwrap();
    assert_eq!((fresh.exact, fresh.volume), (true, Volume::from_litres(1_000)));
    assert_eq!(course(&ratio, &left, &[Volume::ZERO], 1_000).correction(), None);
}

/// A ratio, what is in each tank, and what is kept of it, in microlitres.
fn any_tanks(most: u64) -> impl Strategy<Value = (Shares, Vec<Tank>)> {
    prop::collection::vec((0.0_f64..1.0, 2..most, 0_u64..most), 1..6).prop_filter_map("nothing of all", |parts| {
        let reals: Vec<f64> = parts.iter().map(|(share, ..)| if *share < 0.1 { 0.0 } else { *share }).collect();
        let tanks = (0..).zip(&parts).map(|(at, &(_, holds, keep))| {
            tank(&format!("T{at}"), Volume::from_ul(holds), Volume::from_ul(keep.min(holds - 1)))
        });
        Some((Shares::from_reals(&reals).ok()?, tanks.collect()))
    })
}

/// Whether a batch can be made, asked of the numbers as they are.
fn can_be_made(shares: &Shares, tanks: &[Tank], volume: u64) -> bool {
    shares.millionths().iter().zip(tanks).all(|(&share, tank)| {
        u128::from(share) * u128::from(volume) <= u128::from(tank.available().as_ul()) * 1_000_000
    })
}

proptest! {
    #[test]
    fn a_batch_is_exact_and_takes_no_more_than_there_is(
        (ratio, tanks) in any_tanks(9_000_000_000), tolerance in prop::option::of(1_u32..200_000),
    ) {
        let tolerance = tolerance.map(|it| Tolerance::from_millionths(it).unwrap());
        let Ok(batch) = scale_up(&Asked { tolerance, ..asked(&ratio, &tanks) }) else { return Ok(()) };
        prop_assert_eq!(batch.parts.iter().copied().sum::<Volume>(), batch.volume);
        let allowed = f64::from(tolerance.map_or(0, Tolerance::millionths)) / 1e6;
        for (((part, left), tank), share) in batch.parts.iter().zip(&batch.left).zip(&tanks).zip(ratio.fractions()) {
            prop_assert_eq!(*part + *left, tank.holds);
            prop_assert!(*left >= tank.keep.min(tank.holds));
            let (least, most) = ((share - allowed).max(0.0), share + if share > 0.0 { allowed } else { 0.0 });
            let (part, whole) = (part.as_ul() as f64, batch.volume.as_ul() as f64);
            prop_assert!(part >= least * whole - 1.01 && part <= most * whole + 1.01, "{part} of {whole}");
        }
        prop_assert!(matches!(&batch.limit, Limit::Tanks(binding) if !binding.is_empty()));
    }

    #[test]
    fn no_larger_batch_can_be_made((ratio, tanks) in any_tanks(3_000)) {
        let naive = (0..20_000).rev().find(|&volume| can_be_made(&ratio, &tanks, volume)).unwrap();
        match scale_up(&asked(&ratio, &tanks)) {
            Ok(batch) => prop_assert_eq!(batch.volume.as_ul(), naive),
            Err(error) => prop_assert!(naive == 0 && error == ScaleError::TooLittle, "{naive} {error}"),
        }
    }

    /// The same question put to a solver in litres.
    #[test]
    fn a_solver_finds_no_larger_batch_within_a_tolerance(
        (ratio, tanks) in any_tanks(9_000_000_000), tolerance in 1_u32..200_000,
    ) {
        let tolerant = Asked { tolerance: Tolerance::from_millionths(tolerance).ok(), ..asked(&ratio, &tanks) };
        let Ok(batch) = scale_up(&tolerant) else { return Ok(()) };
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let whole = problem.add_var(1.0, (0.0, f64::INFINITY));
        let mut all = vec![(whole, -1.0)];
        for (share, tank) in ratio.fractions().into_iter().zip(&tanks) {
            let allowed = if share > 0.0 { f64::from(tolerance) / 1e6 } else { 0.0 };
            let part = problem.add_var(0.0, (0.0, tank.available().as_litres()));
            problem.add_constraint([(part, 1.0), (whole, -(share - allowed).max(0.0))], ComparisonOp::Ge, 0.0);
            problem.add_constraint([(part, 1.0), (whole, -(share + allowed).min(1.0))], ComparisonOp::Le, 0.0);
            all.push((part, 1.0));
        }
        problem.add_constraint(all, ComparisonOp::Eq, 0.0);
        let solved = problem.solve().unwrap().into_solution().unwrap();
        prop_assert!((solved.objective() - batch.volume.as_litres()).abs() < 1e-4 * (1.0 + solved.objective()));
    }

    #[test]
    fn a_correction_never_takes_out_what_is_in_nor_more_than_is_there(
        (ratio, tanks) in any_tanks(9_000_000_000), arrived in prop::collection::vec(0_u64..5_000_000_000, 6),
        planned in 1_u64..9_000, room in prop::option::of(1_000_u64..40_000),
    ) {
        let arrived: Vec<Volume> = arrived.into_iter().take(tanks.len()).map(Volume::from_ul).collect();
        let in_it: Volume = arrived.iter().copied().sum();
        let room = room.map(Volume::from_litres).filter(|room| *room >= in_it);
        let course = Course { room, ..course(&ratio, &tanks, &arrived, planned) };
        let next = course.correction().unwrap();
        for (still, tank) in next.still.iter().zip(&tanks) {
            prop_assert!(*still <= tank.available());
        }
        prop_assert_eq!(next.still.iter().copied().sum::<Volume>() + in_it, next.volume);
        prop_assert!(room.is_none_or(|room| next.volume <= room));
        if next.exact {
            prop_assert!(next.off <= 1 || next.volume < Volume::from_litres(1), "{}", next.off);
        }
        // No whole-number guess of how much comes of each tank is nearer.
        for part in 0..=20_u64 {
            let guess: Vec<u64> = ratio.millionths().iter().zip(&arrived).zip(&tanks).map(|((&share, arrived), tank)| {
                let size = (in_it + tanks.iter().map(Tank::available).sum()).as_ul() * 2 / 20 * part;
                (size / 1_000_000 * u64::from(share)).clamp(arrived.as_ul(), (*arrived + tank.available()).as_ul())
            }).collect();
            if room.is_some_and(|room| guess.iter().sum::<u64>() > room.as_ul()) { continue }
            let Ok(reached) = Shares::in_proportion(&guess) else { continue };
            let off = reached.millionths().iter().zip(ratio.millionths()).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
            prop_assert!(next.off <= off + 3, "{} {off}", next.off);
        }
    }
}
