//! The design file: any bytes end in a design or in a refusal that can be shown.
//!
//! ```text
//! mkdir -p fuzz/corpus/design_file
//! RUSTC_BOOTSTRAP=1 cargo fuzz run --dev --sanitizer none design_file fuzz/corpus/design_file examples tests/refused \
//!     -- -max_total_time=20 -dict=fuzz/design_file.dict
//! ```
//! The code is free of `unsafe`, so no sanitizer is needed.
//! Finds are kept in `fuzz/corpus`, which is not committed; the examples and the bad files of the tests are the seeds.

#![no_main]

use libfuzzer_sys::fuzz_target;
use nockwright::design::file::{Overrides, read_bytes};

fuzz_target!(|bytes: &[u8]| {
    match read_bytes(bytes, "any.toml", &Overrides::default()) {
        Ok(reading) => {
            let _ = reading.places.remarks(&reading.remarks, false);
        }
        Err(refusal) => assert!(refusal.render(true).len() > 10),
    }
});
