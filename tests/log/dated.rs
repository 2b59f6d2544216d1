//! The facts of a day, wherever they stand in a long file.

use std::ops::ControlFlow;

use barrelwalk::cellar::core::fact::FactKey;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::{Log, Position, ScanStart};
use proptest::prelude::*;

use crate::support::{create, device, keys, moment, topped};

/// A log of facts of three laptops, `seconds` into the morning each, in the order in which they arrive.
fn arrived(log: &mut Log, seconds: &[i64]) {
    let devices = [device("a"), device("m"), device("z")];
    let mut numbers = [0; 3];
    for (place, &second) in seconds.iter().enumerate() {
        let which = place % 3;
        numbers[which] += 1;
        let head = Position::new(i64::try_from(place).unwrap());
        log.append(head, &[topped(&devices[which], numbers[which], second)]).unwrap();
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn a_scan_from_an_instant_is_the_rest_of_the_whole_one(
        seconds in proptest::collection::vec(0_i64..40, 0..60),
        from in -1_i64..42,
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut log = create(&folder.path().join("cellar"));
        arrived(&mut log, &seconds);
        let instant = moment(from).instant();
        let all = keys(&log, &ScanStart::Beginning);
        let rest: Vec<FactKey> = all.iter().filter(|key| key.instant >= instant).cloned().collect();
        prop_assert_eq!(&keys(&log, &ScanStart::From(instant)), &rest);
        let mut lines = Vec::new();
        log.scan_lines(&ScanStart::From(instant), &mut |raw| {
            let line = raw.whole().unwrap();
            assert_eq!((raw.author(), raw.written()), (line.by.as_str(), line.written.instant()));
            lines.push(line.fact().unwrap().key());
            ControlFlow::Continue(())
        }).unwrap();
        prop_assert_eq!(lines, rest);
        let before = all.iter().rev().map(|key| key.instant).find(|&it| it < instant);
        prop_assert_eq!(log.last_before(instant).unwrap().map(Moment::instant), before);
    }
}
