//! One program for all that is fuzzed; REEDBOOK_FUZZ names which: `tests/fuzz/run quantity -max_total_time=600`.
#![no_main]

mod inputs;

use std::sync::LazyLock;

static ONE: LazyLock<fn(&[u8])> = LazyLock::new(|| {
    let name = std::env::var("REEDBOOK_FUZZ").unwrap_or_default();
    let names = inputs::ALL.map(|(name, _)| name).join(", ");
    let of = inputs::ALL.into_iter().find(|(known, _)| *known == name);
    of.unwrap_or_else(|| panic!("REEDBOOK_FUZZ names one of {names}")).1
});

libfuzzer_sys::fuzz_target!(|data: &[u8]| ONE(data));
