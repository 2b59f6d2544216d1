//! Williams squares: orders that are balanced for position and for what was tasted just before.

/// The orders of a Williams design of so many glasses: as many rows as glasses where their number is even, twice as many
/// where it is odd. Every glass stands as often at every place, and follows every other glass equally often: once where
/// the number is even, twice where it is odd.
///
/// The first row is 0, 1, n − 1, 2, n − 2 …, and each further one adds 1; an odd number adds the rows reversed (E. J.
/// Williams, "Experimental designs balanced for the estimation of residual effects of treatments", 1949).
#[must_use]
pub fn williams(glasses: usize) -> Vec<Vec<usize>> {
    let zigzag =
        |place: usize| if place.is_multiple_of(2) { (glasses - place / 2) % glasses } else { place.div_ceil(2) };
    let row = |shift: usize| (0..glasses).map(|place| (zigzag(place) + shift) % glasses).collect::<Vec<_>>();
    let mut rows: Vec<Vec<usize>> = (0..glasses).map(row).collect();
    if glasses % 2 == 1 && glasses > 1 {
        rows.extend(rows.clone().into_iter().map(|row| row.into_iter().rev().collect()));
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published square of four.
    #[test]
    fn the_square_of_four_is_the_published_one() {
        assert_eq!(williams(4), [[0, 1, 3, 2], [1, 2, 0, 3], [2, 3, 1, 0], [3, 0, 2, 1]]);
    }

    #[test]
    fn positions_and_neighbours_are_balanced_for_every_number() {
        for glasses in 1..=20 {
            let (mut places, mut pairs) = (vec![0; glasses * glasses], vec![0; glasses * glasses]);
            let rows = williams(glasses);
            for row in &rows {
                row.iter().enumerate().for_each(|(place, glass)| places[glass * glasses + place] += 1);
                row.windows(2).for_each(|pair| pairs[pair[0] * glasses + pair[1]] += 1);
            }
            let often = rows.len() / glasses;
            assert!(places.iter().all(|&times| times == often), "{glasses}");
            for (index, &times) in pairs.iter().enumerate() {
                let same = index / glasses == index % glasses;
                assert_eq!(times, if same { 0 } else { often }, "{glasses}");
            }
        }
        assert!(williams(0).is_empty());
    }
}
