//! Doors to the single parsers of cells and lines, for tests that feed them with
//! anything: each says something of what was read, and none may panic.
//!
//! A log passes through all of them by [`crate::Reader`]; nothing else calls these.

use crate::dialect::{Cells, Dialect, Separator};
use crate::number::{self, Cell, Mark};
use crate::sniff::Line;
use crate::{decode, iaga, json, kinds, labels, names, stamp, units, zone};

/// A cell as a number with either mark; `None` when it is no finite number.
pub fn number(cell: &[u8]) -> [Option<f64>; 2] {
    [Mark::Point, Mark::Comma].map(|mark| match number::measured(cell, mark) {
        Cell::Value(value) => Some(value),
        Cell::Missing | Cell::Unreadable => None,
    })
}

/// A decimal as a whole number of `10^-scale`, by both routes.
pub fn scaled(cell: &[u8], scale: u32) -> (Option<i64>, Option<(i64, usize)>) {
    (number::scaled(cell, scale), number::count(cell, scale))
}

/// Whether a cell reads as a date, a time or both, and its time of day in
/// nanoseconds when it has one.
pub fn stamp(cell: &[u8]) -> Option<Option<i64>> {
    stamp::read(cell).map(|stamp| stamp.of_day_ns)
}

/// Whether a text is a list of offsets, and what it makes of a local time.
pub fn zone(text: &str, local_ns: i64) -> Option<i64> {
    zone::Zone::parse(text).map(|zone| zone.utc(local_ns, i64::MIN))
}

/// The cells of a line by each separator: how many, and the end of the last.
pub fn cells(line: &[u8]) -> Vec<Option<(usize, usize)>> {
    let separators = [
        Separator::Byte(b','),
        Separator::Byte(b'\t'),
        Separator::Pairs(1),
        Separator::Blanks,
        Separator::Labels(
            labels::pairs(line).iter().map(|p| line[p.label.0..p.label.1].to_vec()).collect(),
        ),
    ];
    let mut cells = Cells::new();
    separators
        .into_iter()
        .map(|separator| {
            let dialect = Dialect { separator, mark: Mark::Point };
            dialect.split(line, &mut cells)?;
            Some((cells.len(), cells.last().map_or(0, |cell| cell.1 as usize)))
        })
        .collect()
}

/// The values of a JSON row; `None` when it is broken.
pub fn json(line: &[u8]) -> Option<usize> {
    json::leaves(line).map(|leaves| leaves.len())
}

/// The columns that an observatory's header names.
pub fn observatory(text: &[u8]) -> Option<usize> {
    let lines: Vec<Line> = (1..).zip(text.split(|b| *b == b'\n').map(<[u8]>::to_vec)).collect();
    let header = iaga::header(&lines)?;
    let _place = header.station();
    Some(header.roles().len())
}

/// What the first bytes of a file tell: its encoding, and whether it is a log.
pub fn head(bytes: &[u8]) -> (&'static str, bool) {
    let mut decoder = decode::Decoder::new(bytes);
    let plain = decoder.push(bytes).len();
    (decoder.name(), plain > 0 && kinds::not_a_log(bytes).is_none())
}

/// Whether a header holds a unit; its name is read on the way.
pub fn header(text: &str) -> bool {
    let _name = names::named(text, None);
    units::unit(text, units::Hint::Unknown).is_some()
}
