//! Round trips: a table written in any dialect reads back as the table, bit for
//! bit, however its bytes are cut; and no bytes at all upset the reader.

// A test may stop at what should not be.
#![allow(clippy::expect_used)]

use intake::{Choices, Reader, read};
use proptest::prelude::*;
use record::Instant;

#[derive(Clone, Copy, Debug)]
enum Stamp {
    Iso,
    Blank,
    Slashes,
    DayFirst,
    EpochMs,
    EpochNs,
}

#[derive(Clone, Debug)]
struct Dialect {
    separator: &'static str,
    comma: bool,
    quoted: bool,
    line_end: &'static str,
    stamp: Stamp,
    encoding: u8,
    last_end: bool,
}

fn dialect() -> impl Strategy<Value = Dialect> {
    let separators = prop_oneof![Just(","), Just(";"), Just("\t"), Just(" | "), Just(", ")];
    let ends = prop_oneof![Just("\n"), Just("\r\n"), Just("\r")];
    let stamps = prop_oneof![
        Just(Stamp::Iso),
        Just(Stamp::Blank),
        Just(Stamp::Slashes),
        Just(Stamp::DayFirst),
        Just(Stamp::EpochMs),
        Just(Stamp::EpochNs),
    ];
    (separators, any::<bool>(), any::<bool>(), ends, stamps, 0u8..4, any::<bool>()).prop_map(
        |(separator, comma, quoted, line_end, stamp, encoding, last_end)| {
            // A decimal comma inside commas has to be quoted to mean anything.
            let quoted = quoted || (comma && separator.starts_with(','));
            Dialect { separator, comma, quoted, line_end, stamp, encoding, last_end }
        },
    )
}

fn written(stamp: Stamp, ns: i64) -> String {
    let c = Instant(ns).civil();
    let clock = format!("{:02}:{:02}:{:02}.{:03}", c.hour, c.minute, c.second, c.nanos / 1_000_000);
    match stamp {
        Stamp::Iso => Instant(ns).iso(),
        Stamp::Blank => format!("{:04}-{:02}-{:02} {clock}", c.year, c.month, c.day),
        Stamp::Slashes => format!("{:04}/{:02}/{:02} {clock}", c.year, c.month, c.day),
        Stamp::DayFirst => format!("{:02}.{:02}.{:04} {clock}", c.day, c.month, c.year),
        Stamp::EpochMs => (ns / 1_000_000).to_string(),
        Stamp::EpochNs => ns.to_string(),
    }
}

fn table(d: &Dialect, times: &[i64], columns: &[Vec<f64>; 3]) -> Vec<u8> {
    let quote = |text: String| if d.quoted { format!("\"{text}\"") } else { text };
    let number = |v: f64| {
        let text = format!("{v}");
        quote(if d.comma { text.replace('.', ",") } else { text })
    };
    let mut lines =
        vec![["time", "bx_nt", "by_nt", "bz_nt"].map(|n| quote(n.to_owned())).join(d.separator)];
    for (row, ns) in times.iter().enumerate() {
        let cells = [
            quote(written(d.stamp, *ns)),
            number(columns[0][row]),
            number(columns[1][row]),
            number(columns[2][row]),
        ];
        lines.push(cells.join(d.separator));
    }
    let mut text = lines.join(d.line_end);
    if d.last_end {
        text.push_str(d.line_end);
    }
    match d.encoding {
        0 => text.into_bytes(),
        1 => [b"\xEF\xBB\xBF".as_slice(), text.as_bytes()].concat(),
        2 => {
            [0xFF, 0xFE].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect()
        }
        _ => text.encode_utf16().flat_map(u16::to_be_bytes).collect(),
    }
}

// Times on the millisecond, a second apart at least, over the 25th of a month
// so that day and month cannot be confused.
fn times(n: usize) -> impl Strategy<Value = Vec<i64>> {
    (1_779_667_200_000i64..1_779_667_900_000, 1_001i64..40_000).prop_map(move |(start, step)| {
        (0..n as i64).map(|k| (start + k * step) * 1_000_000).collect()
    })
}

fn fields(n: usize) -> impl Strategy<Value = [Vec<f64>; 3]> {
    let column = || proptest::collection::vec(-60_000_000i32..60_000_000, n);
    [column(), column(), column()]
        .prop_map(|c| c.map(|v| v.into_iter().map(|k| f64::from(k) / 1000.0).collect()))
}

fn corpus() -> Vec<Vec<u8>> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/corpus");
    let entries = std::fs::read_dir(folder).expect("the corpus lies in tests/corpus");
    let mut paths: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "log"));
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).expect("a log")).collect()
}

#[derive(Clone, Debug)]
enum Edit {
    Put(u8),
    Take(u8),
    Repeat(u8),
    Number(&'static str),
}

fn edits() -> impl Strategy<Value = Vec<(u16, Edit)>> {
    let numbers = prop_oneof![
        Just("9223372036854775807"),
        Just("-1e308"),
        Just("0"),
        Just("99999999999999999999"),
        Just("4294967295"),
        Just("\"\"\""),
        Just("\r\n\r\n"),
    ];
    let edit = prop_oneof![
        any::<u8>().prop_map(Edit::Put),
        (1u8..40).prop_map(Edit::Take),
        (1u8..80).prop_map(Edit::Repeat),
        numbers.prop_map(Edit::Number),
    ];
    proptest::collection::vec((any::<u16>(), edit), 1..6)
}

fn edited(mut log: Vec<u8>, edits: &[(u16, Edit)]) -> Vec<u8> {
    for (place, edit) in edits {
        let at = usize::from(*place) % (log.len() + 1);
        let end = |n: u8| (at + usize::from(n)).min(log.len());
        match edit {
            Edit::Put(byte) => log.insert(at, *byte),
            Edit::Take(n) => drop(log.drain(at..end(*n))),
            Edit::Repeat(n) => {
                let piece = log[at..end(*n)].to_vec();
                log.splice(at..at, piece);
            }
            Edit::Number(text) => drop(log.splice(at..at, text.bytes())),
        }
    }
    log
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_table_written_in_any_dialect_comes_back(
        d in dialect(),
        (times, columns) in (3usize..40).prop_flat_map(|n| (times(n), fields(n))),
        step in 1usize..5000,
    ) {
        let bytes = table(&d, &times, &columns);
        let mut reader = Reader::new("table", &Choices::default());
        for chunk in bytes.chunks(step) {
            reader.push(chunk).map_err(|e| TestCaseError::fail(e.to_string()))?;
        }
        let reading = reader.finish().map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(reading.report.rows_rejected, 0);
        prop_assert_eq!(reading.record.times_ns(), &times[..]);
        for (name, column) in ["bx", "by", "bz"].iter().zip(&columns) {
            let channel = reading.record.named(name).expect("a channel");
            let same = channel.values.iter().zip(column).all(|(a, b)| a.to_bits() == b.to_bits() || (*a == 0.0 && *b == 0.0));
            prop_assert!(same, "{} differs: {:?}", name, &channel.values[..3]);
        }
    }

    #[test]
    fn damaged_logs_read_the_same_in_any_chunks(
        which in any::<u16>(),
        edits in edits(),
        step in 1usize..700,
    ) {
        let logs = corpus();
        let log = edited(logs[usize::from(which) % logs.len()].clone(), &edits);
        let whole = read("log", &log, &Choices::default());
        let mut reader = Reader::new("log", &Choices::default());
        let pushed = log.chunks(step).try_for_each(|chunk| reader.push(chunk));
        let cut = pushed.and_then(|()| reader.finish());
        if let Ok(reading) = &whole {
            let told = reading.report.rejected.len();
            prop_assert!(told <= reading.report.rows_rejected);
        }
        prop_assert_eq!(format!("{:?}", whole), format!("{:?}", cut));
    }

    #[test]
    fn no_bytes_upset_the_reader(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read("bytes", &bytes, &Choices::default());
    }

    #[test]
    fn no_text_of_the_letters_of_logs_upsets_the_reader(
        text in "[0-9 ,;:.{}\\[\\]\"'=TZxyz#$*|\t\r\n\\-+/eE]{0,300}",
        step in 1usize..50,
    ) {
        let whole = read("text", text.as_bytes(), &Choices::default());
        let mut reader = Reader::new("text", &Choices::default());
        let pushed = text.as_bytes().chunks(step).try_for_each(|chunk| reader.push(chunk));
        let cut = pushed.and_then(|()| reader.finish());
        prop_assert_eq!(format!("{:?}", whole), format!("{:?}", cut));
    }

    #[test]
    fn rows_are_samples_or_told_about(lines in proptest::collection::vec("[0-9,.a-z-]{0,30}", 1..40)) {
        let text = format!("time,a,b\n{}\n{}", "2026-05-25T00:00:00Z,1,2\n".repeat(4), lines.join("\n"));
        if let Ok(reading) = read("text", text.as_bytes(), &Choices::default()) {
            let told = reading.report.rows_read + reading.report.rows_rejected + reading.report.time.restarts;
            let filled = lines.iter().filter(|l| !l.trim_matches(',').is_empty()).count();
            prop_assert!(told >= 4 + filled.saturating_sub(reading.events.len()), "{told} of {filled}");
        }
    }
}
