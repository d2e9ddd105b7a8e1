//! Long logs: one value a row, with the name of its quantity beside it, and
//! tagged rows, each kind of sensor on lines of its own.
//!
//! Rows that belong to one moment become one sample: those with the same time,
//! or with times closer than half the step between rows of one name, as long as
//! no quantity occurs twice.

use crate::clockwork::Seen;
use crate::header::Row;
use crate::names::{Named, Quantity, named};
use crate::number;
use crate::plan::{Plan, Task};
use crate::rows::Rows;
use crate::sniff::Line;

/// One name and the columns its values go to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tag {
    /// The name as it stands in the rows.
    pub text: Vec<u8>,
    /// The first of its columns.
    pub first: usize,
    /// How many values a row of it holds.
    pub count: usize,
}

/// How a long log becomes a wide one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Pivot {
    /// The column that holds the names.
    pub key: usize,
    /// The names.
    pub tags: Vec<Tag>,
    /// Columns that hold values, in file order.
    pub values: Vec<usize>,
    /// The column that holds units, when there is one.
    pub unit: Option<usize>,
    /// A header for each column made.
    pub named: Vec<Named>,
    /// Times closer than this belong to one sample, nanoseconds.
    pub near_ns: i64,
}

impl Pivot {
    /// The columns that a row of this name fills.
    pub(crate) fn tag(&self, text: &[u8]) -> Option<&Tag> {
        self.tags.iter().find(|tag| tag.text == text)
    }

    /// Whether rows hold one value each, so that further names may turn up.
    pub(crate) fn is_list(&self) -> bool {
        self.tags.iter().all(|tag| tag.count == 1)
    }

    /// Makes a column for a name that turned up later.
    pub(crate) fn add(&mut self, text: &[u8]) -> Tag {
        let tag = Tag { text: text.to_vec(), first: self.width(), count: 1 };
        self.named.push(named(&crate::dialect::words(text), None));
        self.tags.push(tag.clone());
        tag
    }

    /// Number of columns made.
    pub(crate) fn width(&self) -> usize {
        self.tags.iter().map(|tag| tag.count).sum()
    }
}

const KEY_NAMES: [&str; 16] = [
    "sensor",
    "channel",
    "type",
    "axis",
    "variable",
    "parameter",
    "measurement",
    "quantity",
    "key",
    "metric",
    "series",
    "name",
    "field",
    "item",
    "topic",
    "entity",
];

/// Names at most; a column with more different texts is no list of quantities.
const MOST: usize = 32;

/// The same plan, with the times of one sample told from those of the next by
/// a trial over the first lines.
pub(crate) fn settled(plan: Plan, lines: &[Line]) -> Plan {
    let Some(first) = plan.pivot.as_ref().and_then(|p| p.tags.first()).map(|tag| tag.first) else {
        return plan;
    };
    let mut trial = Rows::expecting(plan.clone(), 0);
    lines.iter().for_each(|(number, line)| trial.line(*number, line));
    trial.close();
    let ns = trial.times.ns.into_vec();
    let column = trial.numbers.swap_remove(first).into_vec();
    let own: Vec<i64> =
        ns.iter().zip(&column).filter(|(_, v)| !v.is_nan()).map(|(t, _)| *t).collect();
    let step = record::gaps::cadence(&own).step_ns;
    let mut plan = plan;
    if let Some(pivot) = &mut plan.pivot {
        pivot.near_ns = (step - 1).max(0) / 2;
    }
    plan
}

/// Looks for a column of names.  `timed` are the columns that tell the time.
pub(crate) fn find(columns: &[Seen], rows: &[Row], timed: &[(usize, Task)]) -> Option<Pivot> {
    let is_time = |place: usize| timed.iter().any(|(at, _)| *at == place);
    let keys = (0..columns.len()).filter(|place| !is_time(*place) && is_key(&columns[*place]));
    keys.filter_map(|key| {
        tagged(columns, rows, key, &is_time).or_else(|| long(columns, rows, key, &is_time))
    })
    .next()
}

fn is_key(seen: &Seen) -> bool {
    let p = &seen.profile;
    let texts = p.texts.len();
    p.numbers == 0 && (2..=MOST.min(19)).contains(&texts) && p.filled >= 2 * texts
}

fn key_text(row: &Row, key: usize) -> Option<&[u8]> {
    row.cells.get(key).map(|cell| number::trimmed(cell)).filter(|text| !text.is_empty())
}

// One value column beside the names.
fn long(
    columns: &[Seen],
    rows: &[Row],
    key: usize,
    is_time: &dyn Fn(usize) -> bool,
) -> Option<Pivot> {
    let numbers: Vec<usize> = (0..columns.len())
        .filter(|k| {
            !is_time(*k) && *k != key && columns[*k].profile.mostly(columns[*k].profile.numbers)
        })
        .filter(|k| columns[*k].named.quantity != Quantity::Counter)
        .collect();
    let [value] = numbers[..] else { return None };
    let said = columns[key].named.words.iter().any(|w| KEY_NAMES.contains(&w.as_str()));
    let nameless = columns[key].named.quantity == Quantity::Nameless;
    let changes = rows.windows(2).filter(|w| key_text(&w[0], key) != key_text(&w[1], key)).count();
    if !(said || nameless) || changes * 3 < rows.len() {
        return None;
    }
    let unit = (0..columns.len())
        .find(|k| columns[*k].named.words.iter().any(|w| w == "unit" || w == "units"));
    let mut pivot =
        Pivot { key, tags: Vec::new(), values: vec![value], unit, named: Vec::new(), near_ns: 0 };
    for row in rows {
        let Some(text) = key_text(row, key) else { continue };
        if pivot.tag(text).is_none() && pivot.tags.len() < MOST {
            let unit = unit.and_then(|k| row.cells.get(k)).map(|cell| crate::dialect::words(cell));
            pivot.named.push(named(&crate::dialect::words(text), unit.as_deref()));
            pivot.tags.push(Tag { text: text.to_vec(), first: pivot.tags.len(), count: 1 });
        }
    }
    Some(pivot)
}

// Rows of several kinds: the name says how many values follow.
fn tagged(
    columns: &[Seen],
    rows: &[Row],
    key: usize,
    is_time: &dyn Fn(usize) -> bool,
) -> Option<Pivot> {
    let nameless = columns.iter().all(|c| c.named.quantity == Quantity::Nameless);
    if !nameless {
        return None;
    }
    let late = (0..key).any(|k| !is_time(k));
    let changes = rows.windows(2).filter(|w| key_text(&w[0], key) != key_text(&w[1], key)).count();
    if late || changes * 3 < rows.len() {
        return None;
    }
    let values: Vec<usize> = (key + 1..columns.len()).filter(|k| !is_time(*k)).collect();
    if values.iter().any(|k| !columns[*k].profile.mostly(columns[*k].profile.numbers)) {
        return None;
    }
    let mut tags: Vec<Tag> = Vec::new();
    for row in rows {
        let Some(text) = key_text(row, key) else { continue };
        let count = values
            .iter()
            .filter(|k| row.cells.get(**k).is_some_and(|c| !c.trim_ascii().is_empty()))
            .count();
        match tags.iter().position(|tag| tag.text == text) {
            Some(k) => tags[k].count = tags[k].count.max(count),
            None if tags.len() < MOST => tags.push(Tag { text: text.to_vec(), first: 0, count }),
            None => return None,
        }
    }
    let alike = tags.iter().all(|tag| tag.count == tags[0].count);
    if tags.len() < 2 || (alike && tags[0].count < 2) {
        return None;
    }
    let mut named_all = Vec::new();
    let mut first = 0;
    for tag in &mut tags {
        tag.first = first;
        first += tag.count;
        let text = crate::dialect::words(&tag.text);
        named_all.extend((0..tag.count).map(|k| named(&tag_name(&text, k, tag.count), None)));
    }
    Some(Pivot { key, tags, values, unit: None, named: named_all, near_ns: 0 })
}

// Three values of one sensor are its x, y and z.
fn tag_name(text: &str, k: usize, count: usize) -> String {
    match count {
        1 => text.to_owned(),
        3 => format!("{text} {}", ["x", "y", "z"][k]),
        _ => format!("{text} {}", k + 1),
    }
}
