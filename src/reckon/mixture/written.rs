//! How a region is written down, so that its bounds and limits can be read back later by
//! [`parse_bound`](super::parse_bound) and [`parse_limit`].

use super::region::{Bound, Limit, Region};
use super::wording::parse_limit;

impl Region {
    /// The bounds that bind, with what the tanks can give, written so that `parse_bound` reads them; shares to the
    /// millionth. Those of several components stand with a semicolon between.
    #[must_use]
    pub fn bounds_in_words(&self) -> String {
        let binding = self.bounds().iter().filter(|bound| bound.low > 0.0 || bound.most() < 1.0);
        // Downwards, so that nobody is promised more than a tank can give; 0.07 is not to become 0.069999 for that.
        let percent = |share: f64| plain((share * 1e6 + 1e-3).floor() / 1e4);
        let words = |bound: &Bound| format!("{}={}..{}%", bound.name, percent(bound.low), percent(bound.most()));
        binding.map(words).collect::<Vec<_>>().join("; ")
    }

    /// The limits, written so that [`parse_limit`] reads them: the person's words, then the sum that they come to. Several stand
    /// with a semicolon between.
    #[must_use]
    pub fn limits_in_words(&self) -> String {
        let names: Vec<String> = self.bounds().iter().map(|bound| bound.name.clone()).collect();
        self.limits().iter().filter_map(|limit| limit_in_words(limit, &names)).collect::<Vec<_>>().join("; ")
    }
}

/// A limit with its sum. None where it counts no component: it binds nothing, or there would be no region.
fn limit_in_words(limit: &Limit, names: &[String]) -> Option<String> {
    // What parts several limits is not to stand in the words, nor what parts the words from the sum.
    let words = limit.words.replace(';', " ").replace(", ", " ");
    let alike = |read: Limit| (read.coefficients == limit.coefficients, read.low, read.high);
    if parse_limit(&words, names).is_ok_and(|read| alike(read) == (true, limit.low, limit.high)) {
        return Some(words);
    }
    let mut terms: Vec<(f64, &String)> = limit.coefficients.iter().copied().zip(names).collect();
    terms.retain(|(coefficient, _)| *coefficient != 0.0);
    let (mut low, mut high) = (limit.low, limit.high);
    if terms.iter().all(|(coefficient, _)| *coefficient < 0.0) {
        // A sum begins with what is added.
        for (coefficient, _) in &mut terms {
            *coefficient = -*coefficient;
        }
        (low, high) = (high.map(|high| -high), low.map(|low| -low));
    }
    let (added, taken): (Vec<_>, Vec<_>) = terms.into_iter().partition(|(coefficient, _)| *coefficient > 0.0);
    let term = |(coefficient, name): &(f64, &String)| format!("{} {name}", plain(coefficient.abs()));
    let mut sum = added.iter().map(term).collect::<Vec<_>>().join(" + ");
    if sum.is_empty() {
        return None;
    }
    for taken in &taken {
        sum = format!("{sum} - {}", term(taken));
    }
    let compared = match (low, high) {
        (Some(low), Some(high)) => format!("{} <= {sum} <= {}", plain(low), plain(high)),
        (Some(low), None) => format!("{sum} >= {}", plain(low)),
        (None, high) => format!("{sum} <= {}", plain(high?)),
    };
    Some(format!("{}: {compared}", words.replace(':', " ")))
}

/// A number to six decimals, without the noughts that tell nothing.
fn plain(number: f64) -> String {
    let decimals = format!("{number:.6}");
    decimals.trim_end_matches('0').trim_end_matches('.').to_owned()
}
