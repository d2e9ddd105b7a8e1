//! IAGA-2002, the exchange format of magnetic observatories.
//!
//! Header records are read by label, whatever their case, order and padding.
//! The four data columns follow the data header: the last letter of a heading
//! is its element.  D and I are in minutes of arc, the rest in nanotesla;
//! values from 88888 on mean "not there".
//!
//! Source: IAGA-2002 data exchange format, IAGA Division V-DAT (2001, revised
//! to June 2015), as printed in the INTERMAGNET technical manual.

use crate::dialect::{Dialect, Separator};
use crate::draft::Draft;
use crate::names::{Named, named};
use crate::number::Mark;
use crate::plan::{Plan, Planned, Source, Task, Wrap};
use crate::sniff::Line;
use crate::units::Written;
use crate::{Decision, decode};
use record::{
    Role, Station, Unit, say,
    words::{word, worded},
};

/// Values from here on mean that there is none.
pub(crate) const NO_VALUE_FROM: f64 = 88_888.0;

/// What the header of an observatory file says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Header {
    station: String,
    code: String,
    latitude_deg: Option<f64>,
    longitude_deg: Option<f64>,
    elevation_m: Option<f64>,
    reported: String,
    interval: String,
    kind: String,
    columns: Vec<String>,
    line: Vec<u8>,
    first_line: u64,
}

/// The header, when the lines are those of an observatory file.
pub(crate) fn header(lines: &[Line]) -> Option<Header> {
    let mut out = Header::default();
    let mut told = false;
    for (number, line) in lines.iter().take(120) {
        let text = decode::text(line);
        let bare = text.trim().trim_end_matches('|').trim_end();
        let upper = bare.to_ascii_uppercase();
        if upper.starts_with("DATE") && upper.contains("TIME") && upper.contains("DOY") {
            let words: Vec<&str> = bare.split_whitespace().skip(3).collect();
            out.columns = words.iter().map(|w| (*w).to_owned()).collect();
            out.line = line.trim_ascii().to_vec();
            out.first_line = number + 1;
            break;
        }
        told |= out.record(bare);
    }
    let whole = !out.columns.is_empty() && (told || out.columns.len() == 4);
    whole.then_some(out)
}

impl Header {
    // Takes one header record; says whether it names the format.
    fn record(&mut self, bare: &str) -> bool {
        let lower = bare.to_ascii_lowercase();
        let value =
            |label: &str| lower.starts_with(label).then(|| bare[label.len()..].trim().to_owned());
        let number = |text: String| text.split_whitespace().next().and_then(record::decimal::parse);
        if let Some(v) = value("station name") {
            self.station = v;
        } else if let Some(v) = value("iaga code") {
            self.code = v;
        } else if let Some(v) = value("geodetic latitude") {
            self.latitude_deg = number(v);
        } else if let Some(v) = value("geodetic longitude") {
            self.longitude_deg = number(v);
        } else if let Some(v) = value("elevation") {
            self.elevation_m = number(v);
        } else if let Some(v) = value("reported") {
            self.reported = v;
        } else if let Some(v) = value("data interval type") {
            self.interval = v;
        } else if let Some(v) = value("data type") {
            self.kind = v;
        }
        lower.contains("iaga-2002")
    }

    /// The observatory's place; height 0 where the file gives none.
    pub(crate) fn station(&self) -> Option<Station> {
        let name = if self.station.is_empty() { &self.code } else { &self.station };
        Station::new(
            name.clone(),
            self.latitude_deg?,
            self.longitude_deg?,
            self.elevation_m.unwrap_or(0.0),
        )
        .ok()
    }

    /// The data type as the file states it, such as "Definitive"; empty when it does not.
    pub(crate) fn data_type(&self) -> String {
        self.kind.clone()
    }

    fn elements(&self) -> Vec<char> {
        self.columns.iter().map(|c| c.chars().last().unwrap_or(' ').to_ascii_uppercase()).collect()
    }

    /// Role and unit of each data column.
    pub(crate) fn roles(&self) -> Vec<Option<(Role, Unit)>> {
        self.elements().into_iter().map(|letter| Some(element(letter))).collect()
    }
}

fn element(letter: char) -> (Role, Unit) {
    match letter {
        'X' => (Role::X, Unit::Nanotesla),
        'Y' => (Role::Y, Unit::Nanotesla),
        'Z' => (Role::Z, Unit::Nanotesla),
        'F' | 'S' => (Role::F, Unit::Nanotesla),
        'H' => (Role::H, Unit::Nanotesla),
        'D' => (Role::D, Unit::Arcminute),
        'I' => (Role::I, Unit::Arcminute),
        _ => (Role::Other, Unit::Nanotesla),
    }
}

/// The plan of an observatory file.
pub(crate) fn draft(header: Header) -> Draft {
    let time = |name: &str, task| Planned { named: named(name, None), task };
    let mut columns =
        vec![time("DATE", Task::Stamp), time("TIME", Task::Clock), time("DOY", Task::Skip)];
    for (slot, letter) in header.elements().into_iter().enumerate() {
        let base = named("", None);
        let written = if element(letter).1 == Unit::Arcminute { "arcmin" } else { "nT" };
        let named = Named {
            header: header.columns[slot].clone(),
            name: letter.to_string(),
            unit_written: written.to_owned(),
            unit: Some(Written { unit: element(letter).1, scale: 1.0 }),
            ..base
        };
        columns.push(Planned { named, task: Task::Number(slot) });
    }
    let least = columns.len();
    let evidence = worded("date and time columns of IAGA-2002, which are in UT");
    let source = Source {
        kind: "iso8601",
        evidence,
        unit_s: 0.0,
        offset_s: Some(0),
        undated: false,
        cadence_s: None,
    };
    let dialect = Dialect { separator: Separator::Blanks, mark: Mark::Point };
    Draft {
        decisions: vec![said(&header)],
        plan: Plan {
            dialect,
            wrap: Wrap::Observatory,
            columns,
            least,
            header: Some(header.line),
            source,
            pivot: None,
        },
        first_line: header.first_line,
        preamble: Vec::new(),
    }
}

fn said(header: &Header) -> Decision {
    let or = |text: &str| if text.is_empty() { worded("not stated") } else { text.to_owned() };
    let letters: String = header.elements().into_iter().collect();
    let mut evidence = say!(
        "columns {}; reported {}; data type {}; interval {}",
        header.columns.join(", "),
        or(&header.reported),
        or(&header.kind),
        or(&header.interval)
    );
    if !header.reported.is_empty() && !header.reported.to_ascii_uppercase().starts_with(&letters) {
        evidence.push_str(word("; the columns are taken at their word, not the “Reported” record"));
    }
    Decision {
        id: "format".to_owned(),
        sentence: say!("An observatory file in IAGA-2002 with the elements {letters}."),
        evidence,
        chosen: "iaga-2002".to_owned(),
        alternatives: Vec::new(),
        ambiguous: false,
    }
}
