//! Values from publications.

use super::super::design::{Kind, Middles, lay_out};
use super::super::optimal::{Criterion, Optimum, Task, candidates, choose, quality};
use super::super::{Limit, Model, Region, axial_points, lattice_size, simplex_centroid, simplex_lattice};
use super::{NAMES, all, bounds, limit, near, same, wanted, within};

fn chosen(region: &Region, candidates: &[Vec<f64>], criterion: Criterion, glasses: usize) -> Optimum {
    let (model, fixed, tries, seed) = (Model::Quadratic, &[][..], 10, 1);
    let task = Task { region, model, criterion, candidates, fixed, glasses, tries, seed };
    choose(&task, &|| false, &mut |_| {}).unwrap()
}

/// NIST/SEMATECH e-Handbook 5.5.4.2, table of lattice sizes.
#[test]
fn a_lattice_has_as_many_glasses_as_published() {
    for (components, steps, size) in [(3, 3, 10), (4, 5, 56), (5, 4, 70), (6, 3, 56), (3, 2, 6), (2, 1, 2)] {
        assert_eq!(lattice_size(components, steps), Some(size));
        assert_eq!(simplex_lattice(components, steps).len(), size, "{{{components}, {steps}}}");
    }
    assert_eq!(lattice_size(10, usize::MAX), None);
}

/// NIST/SEMATECH e-Handbook 5.5.4.2: the {3, 3} lattice, point by point.
#[test]
fn the_lattice_of_thirds_is_the_published_one() {
    let thirds =
        [[3, 0, 0], [2, 1, 0], [2, 0, 1], [1, 2, 0], [1, 1, 1], [1, 0, 2], [0, 3, 0], [0, 2, 1], [0, 1, 2], [0, 0, 3]];
    let thirds: Vec<Vec<f64>> =
        thirds.iter().map(|point| point.iter().map(|&part| f64::from(part) / 3.0).collect()).collect();
    assert_eq!(simplex_lattice(3, 3), thirds);
}

/// NIST/SEMATECH e-Handbook 5.5.4.3: 2^q − 1 points. Axial points: Cornell, "Experiments with Mixtures" (from memory).
#[test]
fn a_centroid_design_has_all_equal_choices() {
    for components in 2..=10 {
        assert_eq!(simplex_centroid(components).len(), (1 << components) - 1);
    }
    assert_eq!(simplex_centroid(3)[..4], [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.5, 0.5, 0.0]]);
    assert!(near(&axial_points(3)[0], &[2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0], 1e-15));
    let design = lay_out(&all(3), &wanted(Kind::Centroid, Model::Quadratic, None), &|| false, &mut |_| {}).unwrap();
    assert_eq!(design.glasses.len(), 7 + 3);
}

/// NIST/SEMATECH e-Handbook 5.5.4.2: least shares 0.3, 0.4, 0.1.
#[test]
fn pseudocomponents_are_as_published() {
    let region = within(&[(0.3, 1.0), (0.4, 1.0), (0.1, 1.0)]);
    assert!(region.is_simplex());
    for (pseudo, mixture) in
        [([1.0, 0.0, 0.0], [0.5, 0.4, 0.1]), ([1.0 / 3.0; 3], [0.366_666_7, 0.466_666_7, 0.166_666_7])]
    {
        assert!(near(&region.from_pseudocomponents(&pseudo), &mixture, 1e-7));
        assert!(near(&region.pseudocomponents(&mixture), &pseudo, 1e-6));
    }
    let corners = [vec![0.5, 0.4, 0.1], vec![0.3, 0.6, 0.1], vec![0.3, 0.4, 0.3]];
    assert!(same(region.corners().points(), &corners));
}

/// Lawson, R package daewr, the polvoron example.
#[test]
fn the_corners_of_the_polvoron_region_are_the_published_ones() {
    let region = within(&[(0.0, 0.8), (0.10, 0.95), (0.05, 0.50)]);
    let published =
        [[0.0, 0.5, 0.5], [0.0, 0.95, 0.05], [0.4, 0.1, 0.5], [0.8, 0.1, 0.1], [0.8, 0.15, 0.05]].map(Vec::from);
    assert!(same(region.corners().points(), &published));
    assert!(near(&region.corners().middle(), &[0.4, 0.36, 0.24], 1e-12));
}

/// `McLean` and Anderson 1966, the flare: 8 corners; with the middles of its 6 faces and the overall one, 15 points (the bounds
/// and the 15 from memory).
#[test]
fn the_flare_has_eight_corners_and_six_faces() {
    let region = within(&[(0.40, 0.60), (0.10, 0.50), (0.10, 0.50), (0.03, 0.08)]);
    assert_eq!(region.corners().points().len(), 8);
    assert_eq!(region.corners().face_middles().len(), 6);
    assert!(same(&region.corners().face_middles(), &region.corners().side_middles()));
    let corner = vec![0.40, 0.10, 0.47, 0.03];
    assert!(region.corners().points().iter().any(|point| near(point, &corner, 1e-12)));
}

/// Snee 1975, a lubricant, in the documentation of a statistics package: 10 corners; so, by Euler, 15 edges and 7 faces.
#[test]
fn snees_region_has_ten_corners() {
    let region = within(&[(0.07, 0.18), (0.0, 0.30), (0.37, 0.70), (0.0, 0.15)]);
    let counts =
        (region.corners().points().len(), region.corners().edges().len(), region.corners().face_middles().len());
    assert_eq!(counts, (10, 15, 7));
}

/// Piepel's region with linear limits, R package mixexp: 6 corners.
#[test]
fn piepels_region_has_six_corners() {
    let limits = vec![limit(&[0.85, 0.9, 1.0], Some(0.9), Some(0.95)), limit(&[0.7, 0.0, 1.0], Some(0.4), None)];
    let region = Region::new(bounds(&[(0.1, 0.5), (0.1, 0.7), (0.0, 0.7)]), limits).unwrap();
    assert_eq!(region.corners().points().len(), 6, "{:?}", region.corners().points());
    assert_eq!(region.corners().edges().len(), 6);
}

/// Kiefer 1961: the {q, 2} lattice is D-optimal for the quadratic model, so that its worst variance is its number of terms by
/// glass. Its determinant is 16^−(q over 2): 1/4096 for q = 3 and 9.094947e-13 for q = 5 (documentation of `AlgDesign`).
#[test]
fn the_lattice_of_halves_is_the_best_by_determinant() {
    for (components, determinant) in [(3, 1.0 / 4096.0), (5, 9.094_947e-13)] {
        let (region, lattice) = (all(components), simplex_lattice(components, 2));
        let found = chosen(&region, &candidates(&region, 1), Criterion::Determinant, lattice.len());
        assert!(same(&found.mixtures, &lattice), "{:?}", found.mixtures);
        assert!((found.quality.log_determinant.exp() / determinant - 1.0).abs() < 1e-6);
        assert!(
            (found.quality.g_efficiency - 1.0).abs() < 1e-9 && (found.quality.d_efficiency_at_least - 1.0).abs() < 1e-9
        );
    }
}

/// Of three components and seven glasses, exhaustively on the {3, 6} grid: D repeats a glass of the lattice and doubles its
/// determinant; I adds the middle.
#[test]
fn seven_glasses_of_three_are_as_in_an_exhaustive_search() {
    let (region, grid) = (all(3), simplex_lattice(3, 6));
    let by_determinant = chosen(&region, &grid, Criterion::Determinant, 7);
    assert!((by_determinant.quality.log_determinant.exp() * 4096.0 - 2.0).abs() < 1e-9);
    let by_average = chosen(&region, &grid, Criterion::Average, 7);
    assert!((by_average.quality.average_variance - 0.499_494_95).abs() < 5e-9, "{:?}", by_average.quality);
    assert!(by_average.mixtures.iter().any(|mixture| near(mixture, &[1.0 / 3.0; 3], 1e-12)));
}

/// Sixty glasses of eight components, for D: no worse than what a reference library chose from the same mixtures, the corners,
/// the middles of edges and the overall middle. pyDOE3 1.6.2, `optimal_design` with `simple_exchange`, on the full quadratic
/// model in the first seven shares, scaled to ±6; the logarithm of the determinant of X'X of its choice, by Scheffé's terms.
#[test]
fn sixty_glasses_of_eight_are_no_worse_than_a_reference_librarys() {
    const REFERENCE: f64 = -153.996_427;
    let ranges = [(0.1, 0.6), (0.0, 0.4), (0.05, 0.3), (0.0, 0.3), (0.0, 0.25), (0.0, 0.2), (0.0, 0.2), (0.0, 0.15)];
    let region = within(&ranges);
    let corners = region.corners();
    assert_eq!((corners.points().len(), corners.edges().len()), (191, 710));
    let candidates = [corners.points().to_vec(), corners.edge_middles(), vec![corners.middle()]].concat();
    let (model, criterion, fixed) = (Model::Quadratic, Criterion::Determinant, &[][..]);
    let task =
        Task { region: &region, model, criterion, candidates: &candidates, fixed, glasses: 60, tries: 1, seed: 1 };
    let found = choose(&task, &|| false, &mut |_| {}).unwrap();
    assert!(found.quality.log_determinant > REFERENCE, "{:?}", found.quality);
}

/// Without a source: under least shares alone the best design is that of all mixtures in pseudocomponents, and its
/// determinant in shares is smaller by the width to the power that `Model::scale_power` derives.
#[test]
fn least_shares_only_shrink_the_design() {
    let region = within(&[(0.3, 1.0), (0.4, 1.0), (0.1, 1.0)]);
    let found = chosen(&region, &candidates(&region, 1), Criterion::Determinant, 6);
    let lattice: Vec<Vec<f64>> =
        simplex_lattice(3, 2).iter().map(|pseudo| region.from_pseudocomponents(pseudo)).collect();
    assert!(same(&found.mixtures, &lattice));
    assert!((found.quality.log_determinant - ((1.0_f64 / 4096.0).ln() + 16.0 * 0.2_f64.ln())).abs() < 1e-6);
}

/// Reference: an exact determinant by hand. Two components, linear, glasses at 0.2 and 0.6 of the first, each twice:
/// X'X = ((0.8, 0.8), (0.8, 1.6)), det 0.64.
#[test]
fn a_determinant_is_that_of_shares_also_within_bounds() {
    let region = within(&[(0.2, 0.6), (0.0, 1.0)]);
    let glasses = [[0.2, 0.8], [0.2, 0.8], [0.6, 0.4], [0.6, 0.4]].map(Vec::from);
    let quality = quality(&region, Model::Linear, &glasses, &candidates(&region, 1)).unwrap();
    assert!((quality.log_determinant - 0.64_f64.ln()).abs() < 1e-9, "{quality:?}");
    assert!((quality.d - 0.8 / 4.0).abs() < 1e-9);
    assert!((quality.g_efficiency - 1.0).abs() < 1e-9);
}

/// A design of corners for the polvoron region: 5 corners and the overall middle, then 5 middles of edges.
#[test]
fn a_design_of_corners_takes_the_middles_that_are_wished() {
    let region = within(&[(0.0, 0.8), (0.10, 0.95), (0.05, 0.50)]);
    for (middles, count) in [(Middles::Overall, 6), (Middles::Edges, 11), (Middles::Faces, 11)] {
        let wanted = wanted(Kind::Corners(middles), Model::Quadratic, None);
        assert_eq!(lay_out(&region, &wanted, &|| false, &mut |_| {}).unwrap().glasses.len(), count);
    }
}

/// A limit on what components count: at least 75 % of a variety of which A holds all, B 80 % and C none.
#[test]
fn a_limit_counts_each_component_by_its_own_share() {
    let variety =
        Limit { words: "A + 0.8 B >= 75%".to_owned(), coefficients: vec![1.0, 0.8, 0.0], low: Some(0.75), high: None };
    let region = Region::new(bounds(&[(0.0, 1.0); 3]), vec![variety]).unwrap();
    let corners = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.75, 0.0, 0.25], [0.0, 0.9375, 0.0625]].map(Vec::from);
    assert!(same(region.corners().points(), &corners), "{:?}", region.corners().points());
    assert_eq!(region.name(2), NAMES[2]);
}
