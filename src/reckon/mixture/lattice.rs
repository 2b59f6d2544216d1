//! The simplex-lattice design: every mixture whose shares are whole multiples of an equal step (Scheffé 1958; NIST/SEMATECH
//! e-Handbook of Statistical Methods 5.5.4.2).

/// How many glasses the {q, m} lattice has: (q + m − 1)! / (m! (q − 1)!), or none where that is beyond all counting.
#[must_use]
pub fn lattice_size(components: usize, steps: usize) -> Option<usize> {
    // Each factor keeps the product a binomial coefficient, so that it divides without a rest.
    (1..components).try_fold(1_usize, |size, at| Some(size.checked_mul(steps.checked_add(at)?)? / at))
}

/// The {q, m} lattice: shares of 0, 1/m, 2/m … 1 that sum to one, those with most of the first component first. Nothing
/// where there are no components or no steps.
#[must_use]
pub fn simplex_lattice(components: usize, steps: usize) -> Vec<Vec<f64>> {
    if components == 0 || steps == 0 {
        return Vec::new();
    }
    let mut counts: Vec<Vec<usize>> = vec![Vec::new()];
    for component in 0..components {
        let is_last = component + 1 == components;
        let longer = |count: Vec<usize>| {
            let left = steps - count.iter().sum::<usize>();
            let least = if is_last { left } else { 0 };
            (least..=left).rev().map(move |of_this| count.iter().copied().chain([of_this]).collect())
        };
        counts = counts.into_iter().flat_map(longer).collect();
    }
    counts.into_iter().map(|count| count.into_iter().map(|count| count as f64 / steps as f64).collect()).collect()
}
