//! The reader of filled sheets: every look it takes is one the car can hold, every bad row has a line and a remedy.
#![no_main]

use std::sync::OnceLock;

use libfuzzer_sys::fuzz_target;
use tinworm::car::{Car, Seen};
use tinworm::report::filled;
use tinworm::rubric::builtin;

fuzz_target!(|bytes: &[u8]| {
    static CAR: OnceLock<Car> = OnceLock::new();
    let car = CAR.get_or_init(tinworm::demo::car);
    let filled = filled::read(bytes, car, builtin::library());
    for row in filled.looks {
        assert!(row.line >= 1);
        if let Seen::Reading(values) = &row.look.seen {
            assert!(!values.is_empty() && values.iter().all(|v| v.is_finite()), "{values:?}");
        }
    }
    for row in filled.bad {
        assert!(row.line >= 1 && !row.what.is_empty() && !row.fix.is_empty(), "{row}");
    }
});
