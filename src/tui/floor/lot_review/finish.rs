//! The finings and filtrations of a lot, on its page.

use ratatui::text::Line;

use super::sheet::LotSheet;
use crate::cellar::jobs::finish::filtration::Filtration;
use crate::cellar::jobs::finish::fining::given::FiningDone;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::tui::core::theme::Meaning;
use crate::units::{figure_to, percent, poured};

/// So many of the last of each are told; `show lot` tells all.
const TOLD: usize = 8;

impl LotSheet<'_> {
    /// What the lot was fined and filtered with, and what that cost.
    pub(super) fn finish(&self, review: &LotReview) -> Vec<Line<'static>> {
        let state = &self.on.model.state;
        let finings: Vec<&FiningDone> = state.finings_of(review.lot).collect();
        let filtrations: Vec<&Filtration> = state.filtrations_of(review.lot).collect();
        if finings.is_empty() && filtrations.is_empty() {
            return Vec::new();
        }
        let finings = finings.iter().rev().take(TOLD).rev().map(|done| self.fining(done));
        let filtrations = filtrations.iter().rev().take(TOLD).rev().map(|filtration| self.filtration(filtration));
        let told: Vec<String> = finings.chain(filtrations).collect();
        let lines = told.iter().flat_map(|text| self.on.words(text, Meaning::Base)).collect();
        self.on.titled("Fined and filtered", lines)
    }

    fn fining(&self, done: &FiningDone) -> String {
        let (date, vessel) = (done.at.show_date(), self.label(done.vessel));
        let batch = done.batch.as_ref().map_or_else(String::new, |batch| format!(" of batch {batch}"));
        let given = format!("{date} {vessel}: {} g/L {}{batch}", figure_to(3, done.dose_g_l()), done.material);
        done.racked.map_or_else(
            || format!("{given}, not racked off yet"),
            |racked| {
                let share = racked.lost_share().map_or_else(String::new, |share| format!(", {}", percent(1, share)));
                format!("{given}, racked off {}: cost {}{share}", racked.at.show_date(), poured(racked.lost))
            },
        )
    }

    fn filtration(&self, filtration: &Filtration) -> String {
        let (from, to) = (self.label(filtration.from), self.label(filtration.to));
        let filter = filtration.filter.as_ref().map_or_else(String::new, |filter| format!(" through {filter}"));
        let share = filtration.lost_share().map_or_else(String::new, |share| format!(", {}", percent(1, share)));
        let ntu = |found: Option<crate::cellar::jobs::finish::filtration::Turbidity>| {
            found.map_or_else(|| "not tested".to_owned(), |found| found.ntu.to_string())
        };
        format!(
            "{} {from} filtered into {to}{filter}: {} arrived, {} lost{share}; NTU before {}, after {}",
            filtration.at.show_date(),
            poured(filtration.moved),
            poured(filtration.lost),
            ntu(filtration.before),
            ntu(filtration.after),
        )
    }
}
