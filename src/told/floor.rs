//! What is said of a lot as it lies, and of what comes in.

pub mod importing;

use super::Face;
use crate::cellar::jobs::floor::practice::LikeLitres;
use crate::cellar::views::floor::lot_review::DaysInWood;
use crate::units::counted;

/// That labels may be read as litres, and how the house says that they are plain numbers.
#[must_use]
pub fn like_litres(labels: &LikeLitres, face: Face) -> String {
    let by = match face {
        Face::Desk => "with declare practice --labels-are-numbers yes",
        Face::Screen => "by / plain numbers are labels",
    };
    format!(
        "{labels} If they are plain numbers, say so {by}: then litres want a point, a comma or a unit, like 1.8 or 2 L."
    )
}

/// How long a lot has been in wood: `427 days`, and where its barrels differ `427 days, 210 to 644`.
#[must_use]
pub fn days_in_wood(days: DaysInWood) -> String {
    let mean = counted(days.mean.round(), "day");
    if days.least == days.most { mean } else { format!("{mean}, {} to {}", days.least, days.most) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_told_only_where_there_is_one() {
        let told = |mean, least, most| days_in_wood(DaysInWood { mean, least, most });
        assert_eq!(told(427.2, 427, 427), "427 days");
        assert_eq!(told(1.0, 1, 1), "1 day");
        assert_eq!(told(427.2, 210, 644), "427 days, 210 to 644");
    }
}
