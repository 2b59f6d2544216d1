//! A small cellar for tests: two rooms, a red lot and a white one, a barrel that was topped late, one that is held, one
//! that is empty, one that is retired, and a fact that does not fit.

use crate::cellar::core::fact::{Device, FactId, IncomingFact, Stamp};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::views::books::lineage::Tracer;

pub const FACTS: &str = r#"
{"at":"2026-09-01T08:00:00+02:00","kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":2,"sides":2},{"row":"B","stacks":1,"tiers":2,"sides":2}],"temperature_c":13.5,"humidity_pct":82}
{"at":"2026-09-01T08:01:00+02:00","kind":"room_laid_out","room":"cave","rows":[{"row":"W","stacks":1,"tiers":2,"sides":2}],"round_days":14,"tolerated_ul":3000000}
{"at":"2026-09-01T08:02:00+02:00","kind":"origin_declared","origin":"M24 Upper","block":"Upper Terrace","variety":"Merlot","vintage":2024,"appellation":"Côte Haute","colour":"red","estate":true}
{"at":"2026-09-01T08:02:01+02:00","kind":"origin_declared","origin":"M24 Lower","block":"Lower Field","variety":"Merlot","vintage":2024,"appellation":"Côte Haute","colour":"red"}
{"at":"2026-09-01T08:02:02+02:00","kind":"origin_declared","origin":"C25 Creek","block":"Creek","variety":"Chardonnay","vintage":2025,"appellation":"Côte Haute","colour":"white"}
{"at":"2026-09-01T08:03:00+02:00","kind":"lot_opened","lot":"M24 Terrace","colour":"red"}
{"at":"2026-09-01T08:03:01+02:00","kind":"lot_opened","lot":"C25 Creek","colour":"white"}
{"at":"2026-09-01T08:03:02+02:00","kind":"lot_opened","lot":"M25","colour":"red"}
{"at":"2026-09-01T08:03:03+02:00","kind":"stage_set","lot":"C25 Creek","stage":"soaking"}
{"at":"2026-09-01T08:03:04+02:00","kind":"stage_set","lot":"M24 Terrace","stage":"bung_up"}
{"at":"2026-09-01T08:04:00+02:00","kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":5000000000}
{"at":"2026-09-01T08:04:01+02:00","kind":"vessel_registered","vessel":"K2","type":"keg","capacity_ul":50000000}
{"at":"2026-09-01T08:04:02+02:00","kind":"vessel_registered","vessel":"0411","type":"barrel","capacity_ul":225000000,"shape":"bordeaux","cooper":"Besquerin","forest":"Tronçais","grain":"fine","seasoning_months":36,"toast":"medium","heads_toasted":true,"made":2026,"price":890.5}
{"at":"2026-09-01T08:04:03+02:00","kind":"vessel_registered","vessel":"0412","type":"barrel","capacity_ul":225000000,"shape":"bordeaux","cooper":"Besquerin","forest":"Tronçais","toast":"medium","made":2024,"fills":1,"stained":"red"}
{"at":"2026-09-01T08:04:04+02:00","kind":"vessel_registered","vessel":"0413","type":"barrel","capacity_ul":225000000,"shape":"bordeaux","cooper":"Lys","forest":"Allier","toast":"heavy","made":2024,"fills":1,"stained":"red"}
{"at":"2026-09-01T08:04:05+02:00","kind":"vessel_registered","vessel":"0414","type":"barrel","capacity_ul":228000000,"shape":"burgundy","cooper":"Lys","fills":4,"stained":"red"}
{"at":"2026-09-01T08:04:06+02:00","kind":"vessel_registered","vessel":"0415","type":"barrel","capacity_ul":225000000,"fills":2,"stained":"red"}
{"at":"2026-09-01T08:04:07+02:00","kind":"vessel_registered","vessel":"0501","type":"barrel","capacity_ul":228000000,"shape":"burgundy","forest":"Vosges","toast":"light"}
{"at":"2026-09-01T08:04:08+02:00","kind":"vessel_registered","vessel":"0502","type":"barrel","capacity_ul":228000000,"shape":"burgundy","forest":"Vosges","toast":"light","fills":1,"stained":"white"}
{"at":"2026-09-01T08:04:09+02:00","kind":"vessel_registered","vessel":"=0600","type":"barrel","capacity_ul":225000000}
{"at":"2026-09-01T08:04:10+02:00","kind":"vessel_registered","vessel":"0399","type":"barrel","capacity_ul":225000000,"fills":9,"stained":"red"}
{"at":"2026-09-01T08:04:11+02:00","kind":"vessel_registered","vessel":"W1","type":"tank","capacity_ul":1000000000}
{"at":"2026-09-01T08:05:00+02:00","kind":"vessel_placed","vessel":"0411","place":"long/A-01-1-a"}
{"at":"2026-09-01T08:05:01+02:00","kind":"vessel_placed","vessel":"0412","place":"long/A-01-1-b"}
{"at":"2026-09-01T08:05:02+02:00","kind":"vessel_placed","vessel":"0413","place":"long/A-02-1-a"}
{"at":"2026-09-01T08:05:03+02:00","kind":"vessel_placed","vessel":"0414","place":"long/A-02-2-b"}
{"at":"2026-09-01T08:05:04+02:00","kind":"vessel_placed","vessel":"0415","place":"long/B-01-1-a"}
{"at":"2026-09-01T08:05:05+02:00","kind":"vessel_placed","vessel":"0501","place":"cave/W-01-1-a"}
{"at":"2026-09-01T08:05:06+02:00","kind":"vessel_placed","vessel":"0502","place":"cave/W-01-1-b"}
{"at":"2026-09-01T08:06:00+02:00","kind":"vessel_retired","vessel":"0399","why":"worn out"}
{"at":"2026-09-02T08:00:00+02:00","kind":"wine_received","vessel":"T1","lot":"M24 Terrace","parts":[{"origin":"M24 Upper","volume_ul":1000000000},{"origin":"M24 Lower","volume_ul":250000001}]}
{"at":"2026-09-02T08:10:00+02:00","kind":"wine_received","vessel":"W1","lot":"C25 Creek","parts":[{"origin":"C25 Creek","volume_ul":480000000}]}
{"at":"2026-09-02T09:00:00+02:00","kind":"wine_moved","from":"T1","to":"0411","volume_ul":225000000,"purpose":"barrel_down"}
{"at":"2026-09-02T09:05:00+02:00","kind":"wine_moved","from":"T1","to":"0412","volume_ul":225000000,"purpose":"barrel_down"}
{"at":"2026-09-02T09:10:00+02:00","kind":"wine_moved","from":"T1","to":"0413","volume_ul":225000000,"purpose":"barrel_down"}
{"at":"2026-09-02T09:15:00+02:00","kind":"wine_moved","from":"T1","to":"0414","volume_ul":228000000,"purpose":"barrel_down"}
{"at":"2026-09-02T09:20:00+02:00","kind":"wine_moved","from":"T1","to":"K2","volume_ul":50000000,"purpose":"other"}
{"at":"2026-09-02T09:25:00+02:00","kind":"lost","vessel":"T1","volume_ul":4500000,"cause":"spill"}
{"at":"2026-09-02T10:00:00+02:00","kind":"wine_moved","from":"W1","to":"0501","volume_ul":228000000,"purpose":"barrel_down"}
{"at":"2026-09-02T10:05:00+02:00","kind":"wine_moved","from":"W1","to":"0502","volume_ul":228000000,"purpose":"barrel_down","lees_ul":12000000,"empties":true}
{"at":"2026-11-01T07:00:00+01:00","kind":"topped","vessel":"0411","from":"K2","volume_ul":3100000}
{"at":"2026-11-01T07:05:00+01:00","kind":"topped","vessel":"0412","from":"K2","volume_ul":1700000}
{"at":"2026-11-02T07:10:00+01:00","kind":"topped","vessel":"0413","from":"K2","volume_ul":1800000}
{"at":"2026-11-04T07:10:00+01:00","kind":"topped","vessel":"0414","from":"K2","volume_ul":2000000}
{"at":"2026-11-05T08:00:00+01:00","kind":"sampled","vessel":"0411","volume_ul":750000,"purpose":"lab"}
{"at":"2026-11-06T08:00:00+01:00","kind":"tasted","vessel":"0411","score":14.5,"marks":["plum","closed"],"text":"=a little closed"}
{"at":"2026-11-07T08:00:00+01:00","kind":"held","vessel":"0413","why":"smells of reduction; wait for the lab"}
{"at":"2026-11-22T08:00:00+01:00","kind":"topped","vessel":"0501","from":"W1","volume_ul":2500000}
{"at":"2026-11-23T08:00:00+01:00","kind":"vessel_placed","vessel":"0411","place":"long/A-01-2-a"}
{"at":"2026-11-24T08:00:00+01:00","kind":"round_begun","round":"24 Nov","room":"long","from":"K2"}
"#;

/// Every fact of the small cellar, folded, with its flows.
pub fn traced() -> Tracer {
    traced_until(on())
}

/// The facts of the small cellar up to a moment.
pub fn traced_until(until: Moment) -> Tracer {
    let mut tracer = Tracer::default();
    for (line, n) in FACTS.trim().lines().zip(1..) {
        let line = line.replacen('{', r#"{"by":"mk","#, 1);
        let (fact, _) = IncomingFact::from_json(&line).unwrap();
        if fact.at.instant() <= until.instant() {
            let stamp = Stamp::new(FactId { device: Device::new("trolley-1").unwrap(), n }, fact.at);
            tracer.fold(&stamp, &fact.what);
        }
    }
    tracer
}

/// The state of the small cellar.
pub fn state() -> State {
    traced().state
}

/// The moment that the tests look at.
pub fn on() -> Moment {
    moment("2026-11-25T06:40:00+01:00")
}

/// A moment as it is written.
pub fn moment(text: &str) -> Moment {
    Moment::parse(text).unwrap()
}
