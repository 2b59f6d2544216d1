//! How far one rating strays is learned from the hidden repeats of trials that are revealed, and else taken.

use barrelwalk::cellar::views::bench::repeat_error::Source;
use serde_json::{Value, json};

use crate::support::given::Cellar;

/// Three wines of T and U, each twice, for two tasters in two flights: the first of each in the first, its repeat in the second.
fn laid_out(trial: &str, first: u32) -> Value {
    let glass = |at: u32| {
        let share = (at % 3) * 400_000;
        let mut glass = json!({"code": (first + at).to_string(), "shares_ppm": [share, 1_000_000 - share]});
        if at >= 3 {
            glass["repeat_of"] = json!((first + at - 3).to_string());
        }
        glass
    };
    let flight = |from: u32| (from..from + 3).map(|at| (first + at).to_string()).collect::<Vec<_>>();
    let flights = json!([flight(0), flight(3)]);
    json!({
        "kind": "trial_set", "trial": trial, "glass_ul": 50_000, "glasses": (0..6).map(glass).collect::<Vec<_>>(),
        "panel": ["anna", "ben"], "salt": "5a1ad", "components": [{"vessel": "T"}, {"vessel": "U"}],
        "servings": {"anna": flights, "ben": flights},
    })
}

/// Both tasters stray by half a point up and down about each wine; Ben rates the second flight two points higher as a whole.
fn tasted(mut cellar: Cellar, trial: &str, first: u32) -> Cellar {
    cellar = cellar.given(laid_out(trial, first));
    for (taster, higher) in [("anna", 0.0), ("ben", 2.0)] {
        for at in 0..6 {
            let (wine, strays) = (f64::from(at % 3), [0.5, -0.5, 0.0, -0.5, 0.5, 0.0][at as usize]);
            let score = 12.0 + wine + strays + if at >= 3 { higher } else { 0.0 };
            cellar = cellar.given(json!({
                "kind": "glass_rated", "trial": trial, "taster": taster, "code": (first + at).to_string(), "score": score,
            }));
        }
    }
    cellar
}

#[test]
fn hidden_repeats_of_revealed_trials_tell_it() {
    let mut cellar = tasted(tasted(Cellar::furnished(), "Q", 100), "R", 200);
    assert_eq!(cellar.state.repeat_error().from, Source::Taken);
    cellar = cellar.given(json!({"kind": "trial_revealed", "trial": "Q"}));
    let found = cellar.state.repeat_error();
    assert_eq!(found.from, Source::Learned { repeats: 6, trials: 1 });
    // By hand: of each taster two wines differ by a point, one not at all: squares 1/2 + 1/2 + 0, of three repeats.
    assert!((found.deviation - (1.0_f64 / 3.0).sqrt()).abs() < 1e-9, "{found:?}");
    assert_eq!(found.words(), "One rating strays by 0.6 points (SD), by 6 hidden repeats in 1 trial of this house.");
    cellar = cellar.given(json!({"kind": "trial_revealed", "trial": "R"}));
    assert_eq!(cellar.state.repeat_error().from, Source::Learned { repeats: 12, trials: 2 });
}
