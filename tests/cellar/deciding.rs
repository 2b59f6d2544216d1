//! What may be done, and when it is said to have been done.

use barrelwalk::cellar::core::decide::decide;
use barrelwalk::cellar::core::refusal::Refusal;
use serde_json::json;

use crate::support::given::{Cellar, Told, moment};

/// Two laptops' clocks may differ by five minutes, whatever their offsets.
#[test]
fn nothing_is_done_in_the_future() {
    let cellar = Cellar::furnished();
    let what = json!({"kind": "noted", "about": "B1", "text": "seeps"}).what();
    let now = moment("2026-11-25T06:40:00+01:00");
    let at = |text: &str| decide(&cellar.state, &what, moment(text), now);
    assert_eq!(at("2026-11-25T06:45:00+01:00"), Ok(()));
    assert_eq!(at("2026-11-24T21:45:00-08:00"), Ok(()));
    assert!(matches!(at("2026-11-25T06:45:00.001+01:00"), Err(Refusal::Future { .. })));
    let Err(refusal) = at("2027-11-25T06:40:00+01:00") else { panic!("it was taken") };
    assert!(refusal.to_string().contains("lies in the future"), "{refusal}");
    assert_eq!(at("1999-01-01T00:00:00Z"), Ok(()), "what was long ago may be entered late");
}
