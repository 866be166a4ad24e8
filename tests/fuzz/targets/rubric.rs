//! The reader of rubric files: whatever is in one, every mistake has a place inside the text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use tinworm::rubric::{check, parse};

fuzz_target!(|bytes: &[u8]| {
    let mistakes = match parse::from_bytes("fuzz.ron", bytes) {
        Err(mistake) => vec![mistake],
        Ok(source) => check::look(&[source]).1,
    };
    // A break of line may be a place of its own, after the last line.
    let lines = bytes.iter().filter(|b| **b == b'\n').count() + 1;
    for mistake in mistakes {
        assert!((1..=lines).contains(&mistake.line), "{mistake}");
        assert!(mistake.column >= 1 && !mistake.what.is_empty() && !mistake.fix.is_empty(), "{mistake}");
    }
});
