//! What must hold whatever bytes come: the bodies of the fuzz targets, which the
//! tests of `intake` run on a few thousand damaged logs.

use intake::{Choices, Reader, parsers, read};

/// Any bytes: no panic, no hang, and what is read is consistent.
pub fn bytes(bytes: &[u8]) {
    if let Ok(reading) = read("log", bytes, &Choices::default()) {
        let n = reading.record.len();
        assert_eq!(reading.report.rows_read, n);
        for channel in reading.record.channels() {
            assert_eq!(channel.values.len(), n);
            assert!(channel.values.iter().all(|v| !v.is_infinite()), "{}", channel.name);
        }
    }
}

fn outcome(bytes: &[u8], step: usize) -> String {
    let mut reader = Reader::new("log", &Choices::default());
    let pushed = bytes.chunks(step.max(1)).try_for_each(|chunk| reader.push(chunk));
    match pushed.and_then(|()| reader.finish()) {
        Ok(reading) => format!("{reading:?}"),
        Err(error) => format!("{error:?}"),
    }
}

/// The first byte says how long the chunks are: they must not matter.
pub fn chunks(bytes: &[u8]) {
    let Some((step, bytes)) = bytes.split_first() else { return };
    assert_eq!(outcome(bytes, usize::from(*step)), outcome(bytes, bytes.len()));
}

/// Sound rows before any bytes: nothing is listed that is not counted.
pub fn rows(bytes: &[u8]) {
    let mut log = b"time,bx_nt,by_nt,bz_nt,note\n".to_vec();
    for k in 0..6 {
        log.extend(format!("2026-05-03T14:2{k}:00Z,16632.2,-1003.1,47743.5,\n").bytes());
    }
    log.extend_from_slice(bytes);
    if let Ok(reading) = read("log", &log, &Choices::default()) {
        assert!(reading.report.rejected.len() <= reading.report.rows_rejected);
        assert_eq!(reading.record.len(), reading.report.rows_read);
    }
}

/// Texts that begin as JSON does.
pub fn json(bytes: &[u8]) {
    for start in [b"[{\"time\":\"2026-05-03T14:20:00Z\",".as_slice(), b"{\"1777818000\":{"] {
        let _ = read("log", &[start, bytes].concat(), &Choices::default());
    }
}

const LOG: &[u8] = b"time,bx,by,bz,temp\n03/05/2026 14:20:00,16632,-1003,47743,12\n\
03/05/2026 14:20:30,16633,-1004,47744,-999.9\n03/05/2026 14:21:00,16634,-1005,47745,-999.9\n";
const IDS: [&str; 12] = [
    "delimiter",
    "decimal",
    "time",
    "time-order",
    "time-unit",
    "zone",
    "start",
    "date",
    "cadence",
    "unit:bx",
    "role:temp",
    "missing:temp",
];

/// Any answers to the decisions of a sound log: refused or followed, no panic.
pub fn choices(bytes: &[u8]) {
    let answers = String::from_utf8_lossy(bytes);
    let mut choices = Choices::default();
    for (k, answer) in answers.split('\n').enumerate() {
        choices = choices.with(IDS[k % IDS.len()], answer);
    }
    let _ = read("log", LOG, &choices);
}

/// Every parser of cells and lines on its own.
pub fn parts(bytes: &[u8]) {
    for value in parsers::number(bytes).into_iter().flatten() {
        assert!(value.is_finite());
    }
    let (plain, quick) = parsers::scaled(bytes, 9);
    if let (Some(plain), Some((value, used))) = (plain, quick)
        && used == bytes.len()
    {
        assert_eq!(plain, value);
    }
    if let Some(Some(of_day)) = parsers::stamp(bytes) {
        assert!(of_day.unsigned_abs() <= 2 * 86_400 * 1_000_000_000);
    }
    for (_, end) in parsers::cells(bytes).into_iter().flatten() {
        assert!(end <= bytes.len());
    }
    parsers::json(bytes);
    parsers::observatory(bytes);
    parsers::head(bytes);
    if let Ok(text) = std::str::from_utf8(bytes) {
        parsers::header(text);
        parsers::zone(text, 1_777_818_000_000_000_000);
    }
}
