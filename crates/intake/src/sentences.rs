//! Sentences: `$TAG,...*hh` lines, whose tag may say what the cells are.
//!
//! The layout of `BNRDD` and its relations is that of open counter-tube loggers
//! (radiation log format 1.0.0); from memory, and checked against a real log.

use crate::names::{Named, named};
use crate::plan::Wrap;

const COUNTER: [&str; 15] = [
    "sentence",
    "device",
    "time",
    "counts (cpm)",
    "counts in 5 s",
    "counts total",
    "counts valid",
    "latitude",
    "north or south",
    "longitude",
    "east or west",
    "altitude (m)",
    "position valid",
    "dilution of position",
    "satellites",
];

/// The names of the cells of sentences with this tag; none when it is unknown.
pub(crate) fn names(wrap: Wrap, tag: &[u8]) -> Vec<Named> {
    let known = wrap == Wrap::Sentence && tag.len() == 6 && tag.ends_with(b"RDD");
    if known { COUNTER.iter().map(|name| named(name, None)).collect() } else { Vec::new() }
}

/// The names of a seismic series: `TIMESERIES NET_STA_LOC_CHA_Q, n samples, ...,
/// TSPAIR, type, unit` above rows of time and value.
///
/// Source: the ASCII time series formats of seismological data services (FDSN
/// station and channel codes, SEED manual 2.4, appendix A); from memory.
pub(crate) fn seismic(preamble: &[Vec<u8>], width: usize) -> Vec<Named> {
    let Some(line) = preamble.iter().find(|line| line.starts_with(b"TIMESERIES ")) else {
        return Vec::new();
    };
    let text = crate::decode::text(&line[11..]);
    let mut parts = text.split(',').map(str::trim);
    let (id, unit) = (parts.next().unwrap_or_default(), parts.next_back().unwrap_or_default());
    if width != 2 {
        return Vec::new();
    }
    let unit = if unit.eq_ignore_ascii_case("counts") { "count" } else { unit };
    vec![named("time", None), named(&format!("ground motion {id}"), Some(unit))]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::names::Quantity;

    #[test]
    fn a_counter_sentence_names_its_counts() {
        let names = names(Wrap::Sentence, b"$BNRDD");
        assert_eq!(names[3].quantity, Quantity::Counts);
        assert!(super::names(Wrap::Bare, b"$BNRDD").is_empty());
    }

    #[test]
    fn a_seismic_series_is_ground_motion() {
        let line = b"TIMESERIES XX_TEST__BHZ_R, 635 samples, 40 sps, 2008, TSPAIR, INTEGER, Counts";
        let names = seismic(&[line.to_vec()], 2);
        assert_eq!(names[1].quantity, Quantity::Motion);
    }
}
