//! The first byte says how long the chunks are: they must not matter.
#![no_main]

use intake::{Choices, Reader};
use libfuzzer_sys::fuzz_target;

fn outcome(bytes: &[u8], step: usize) -> String {
    let mut reader = Reader::new("log", &Choices::default());
    let pushed = bytes.chunks(step.max(1)).try_for_each(|chunk| reader.push(chunk));
    match pushed.and_then(|()| reader.finish()) {
        Ok(reading) => format!("{reading:?}"),
        Err(error) => format!("{error:?}"),
    }
}

fuzz_target!(|bytes: &[u8]| {
    let Some((step, bytes)) = bytes.split_first() else { return };
    assert_eq!(outcome(bytes, usize::from(*step)), outcome(bytes, bytes.len()));
});
