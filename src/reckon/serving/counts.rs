//! How often each thing happens in a serving: what the exchange evens out.

/// How much an unevenness of each kind counts: our choice, by which places and neighbours come out as even as they can
/// (tasters tire and palates drift along a flight), and company nearly so. A pair is counted both ways.
const PLACE: i64 = 4;
const FLIGHT: i64 = 4;
const BEHIND: i64 = 2;
const BESIDE: i64 = 4;

/// Counts over all tasters, glass by glass.
pub(super) struct Counts {
    glasses: usize,
    flight_size: usize,
    flights: usize,
    /// Glass by place in its flight.
    pub(super) place: Vec<i64>,
    /// Glass by number of the flight.
    pub(super) flight: Vec<i64>,
    /// Glass by the glass that was tasted just before it.
    pub(super) behind: Vec<i64>,
    /// Glass by glass of the same flight, both ways.
    pub(super) beside: Vec<i64>,
}

impl Counts {
    pub(super) fn none(glasses: usize, flight_size: usize, flights: usize) -> Counts {
        Counts {
            glasses,
            flight_size,
            flights,
            place: vec![0; glasses * flight_size],
            flight: vec![0; glasses * flights],
            behind: vec![0; glasses * glasses],
            beside: vec![0; glasses * glasses],
        }
    }

    /// Counts a flight in; says how much the weighted sum of squares grows.
    pub(super) fn add(&mut self, number: usize, flight: &[usize]) -> i64 {
        self.step(number, flight, 1)
    }

    /// Counts a flight out; says how much the weighted sum of squares grows, which is never above nought.
    pub(super) fn remove(&mut self, number: usize, flight: &[usize]) -> i64 {
        self.step(number, flight, -1)
    }

    fn step(&mut self, number: usize, flight: &[usize], by: i64) -> i64 {
        let mut growth = 0;
        for (place, &glass) in flight.iter().enumerate() {
            growth += PLACE * squared(&mut self.place[glass * self.flight_size + place], by);
            growth += FLIGHT * squared(&mut self.flight[glass * self.flights + number], by);
            if let Some(&before) = place.checked_sub(1).and_then(|before| flight.get(before)) {
                growth += BEHIND * squared(&mut self.behind[glass * self.glasses + before], by);
            }
            for &other in &flight[..place] {
                growth += BESIDE * squared(&mut self.beside[glass * self.glasses + other], by);
                growth += BESIDE * squared(&mut self.beside[other * self.glasses + glass], by);
            }
        }
        growth
    }
}

/// Changes a count and says how much its square grows.
fn squared(count: &mut i64, by: i64) -> i64 {
    let before = *count * *count;
    *count += by;
    *count * *count - before
}
