//! Decisions about a log's form, with their evidence and alternatives: the
//! separator, the decimal mark, the time column and its unit.

use crate::clockwork::{Candidate, Seen, candidates, label};
use crate::counts;
use crate::dialect::Separator;
use crate::header::Header;
use crate::names::Quantity;
use crate::number::Mark;
use crate::pivot::Pivot;
use crate::plan::{Planned, Task};
use crate::sniff;
use crate::{Choices, Decision, ReadError};
use record::{
    print::count,
    say,
    words::{word, worded},
};

/// Decisions being taken, with the student's answers at hand.
#[derive(Debug)]
pub(crate) struct Asked<'a> {
    choices: &'a Choices,
    /// Decisions taken.
    pub decisions: Vec<Decision>,
}

impl<'a> Asked<'a> {
    /// No decisions yet.
    pub(crate) fn new(choices: &'a Choices) -> Self {
        Self { choices, decisions: Vec::new() }
    }

    /// The student's answer to a decision.
    ///
    /// # Errors
    ///
    /// [`ReadError::Choice`] when it is none of the alternatives.
    pub(crate) fn answer(
        &self,
        id: &str,
        alternatives: &[(String, String)],
    ) -> Result<Option<String>, ReadError> {
        answer(self.choices, id, alternatives)
    }

    /// The student's answer, whatever it is.
    pub(crate) fn raw(&self, id: &str) -> Option<String> {
        self.choices.get(id).map(str::to_owned)
    }

    /// An answer that is a positive number of seconds.
    ///
    /// # Errors
    ///
    /// [`ReadError::Choice`] when it is none.
    pub(crate) fn number(&self, id: &str) -> Result<Option<f64>, ReadError> {
        let Some(given) = self.choices.get(id) else { return Ok(None) };
        let value = record::decimal::parse(given.trim()).filter(|v| *v > 0.0 && *v < 1e9);
        value.map(Some).ok_or_else(|| ReadError::Choice {
            id: id.to_owned(),
            given: given.to_owned(),
            known: worded("any number of seconds above 0"),
        })
    }

    /// An answer that is an instant.
    ///
    /// # Errors
    ///
    /// [`ReadError::Choice`] when it is none.
    pub(crate) fn instant(&self, id: &str) -> Result<Option<record::Instant>, ReadError> {
        let Some(given) = self.choices.get(id) else { return Ok(None) };
        let mut moment = crate::moment::Moment::default();
        let read = crate::stamp::read(given.trim().as_bytes());
        read.into_iter().for_each(|stamp| moment.take(stamp));
        match crate::moment::Times::peek(&moment) {
            Ok((ns, None)) => Ok(Some(record::Instant(ns))),
            _ => Err(ReadError::Choice {
                id: id.to_owned(),
                given: given.to_owned(),
                known: worded("a date and time such as 2026-05-03T14:20:00Z"),
            }),
        }
    }

    /// Notes a decision.
    pub(crate) fn note(&mut self, decision: Decision) {
        self.decisions.push(decision);
    }
}

/// The student's answer to a decision, checked against its alternatives.
pub(crate) fn answer(
    choices: &Choices,
    id: &str,
    alternatives: &[(String, String)],
) -> Result<Option<String>, ReadError> {
    let Some(given) = choices.get(id) else { return Ok(None) };
    if alternatives.iter().any(|(known, _)| known == given) {
        return Ok(Some(given.to_owned()));
    }
    let known: Vec<&str> = alternatives.iter().map(|(id, _)| id.as_str()).collect();
    Err(ReadError::Choice { id: id.to_owned(), given: given.to_owned(), known: known.join(", ") })
}

/// Pairs of borrowed texts as alternatives.
pub(crate) fn alternatives(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    pairs.iter().map(|(id, label)| ((*id).to_owned(), worded(label))).collect()
}

/// The separator; `None` when no line holds more than one cell.
pub(crate) fn separator(
    lines: &[&[u8]],
    told: Option<Separator>,
    asked: &mut Asked,
) -> Result<Option<Separator>, ReadError> {
    let suits = sniff::separators(lines);
    let mut known: Vec<(String, String)> = suits
        .iter()
        .map(|s| (sniff::id(&s.separator).to_owned(), sniff::spoken(&s.separator).to_owned()))
        .collect();
    let labels = sniff::labelled(lines);
    if labels.is_some() {
        known.push(("label".to_owned(), worded("labels before the values")));
    }
    let pairs = sniff::pairs(lines).filter(|_| asked.raw("decimal").as_deref() != Some("point"));
    let labels_win = labels.is_some() && suits.first().is_none_or(|suit| suit.score < 0.75);
    let given = asked.answer("delimiter", &known)?;
    let (separator, evidence) = taken(given, told, labels, labels_win, suits.first());
    let Some(mut separator) = separator else { return Ok(None) };
    if let (Separator::Byte(b','), Some(lead)) = (&separator, pairs) {
        separator = Separator::Pairs(lead);
    }
    let sentence = match &separator {
        Separator::Labels(_) => worded("Every value stands behind its label."),
        other => say!("Values are separated by {}.", sniff::spoken(other)),
    };
    let ambiguous = suits.len() > 1
        && !labels_win
        && suits[0].score - suits[1].score < 0.02
        && suits[0].width == suits[1].width + 1;
    asked.note(Decision {
        id: "delimiter".to_owned(),
        sentence,
        evidence,
        chosen: sniff::id(&separator).to_owned(),
        alternatives: known,
        ambiguous: ambiguous && suits[1].width > 2,
    });
    Ok(Some(separator))
}

// The student's answer, a `sep=` line, labels, or what suits best; and why.
fn taken(
    given: Option<String>,
    told: Option<Separator>,
    labels: Option<Vec<Vec<u8>>>,
    labels_win: bool,
    best: Option<&sniff::Suit>,
) -> (Option<Separator>, String) {
    match (given, told, labels) {
        (Some(id), _, Some(keys)) if id == "label" => {
            (Some(Separator::Labels(keys)), worded("your choice"))
        }
        (Some(id), _, _) => (sniff::from_id(&id), worded("your choice")),
        (None, Some(told), _) => (Some(told), worded("the first line says so")),
        (None, None, Some(keys)) if labels_win => {
            let evidence =
                say!("{} labels such as “{}”", keys.len(), crate::decode::excerpt(&keys[0], 20));
            (Some(Separator::Labels(keys)), evidence)
        }
        _ => match best.filter(|suit| suit.score >= 0.2) {
            Some(suit) => {
                let evidence = say!(
                    "{} of the first {} lines have {} cells that read as numbers or times",
                    count(suit.rows),
                    count(suit.of),
                    suit.width
                );
                (Some(suit.separator.clone()), evidence)
            }
            None => (None, String::new()),
        },
    }
}

/// The decimal mark.
pub(crate) fn mark(
    separator: &Separator,
    lines: &[&[u8]],
    asked: &mut Asked,
) -> Result<Mark, ReadError> {
    let found = match separator {
        Separator::Pairs(_) => sniff::Decimals {
            mark: Mark::Comma,
            open: true,
            evidence: worded("rows have two parts for each name, the second of digits alone"),
        },
        _ => sniff::decimals(separator, lines),
    };
    let known =
        alternatives(&[("point", word("a point: 48.21")), ("comma", word("a comma: 48,21"))]);
    let given = asked.answer("decimal", &known)?;
    let (mark, evidence) = match given.as_deref() {
        Some("comma") => (Mark::Comma, worded("your choice")),
        Some(_) => (Mark::Point, worded("your choice")),
        None => (found.mark, found.evidence),
    };
    let word = word(if mark == Mark::Comma { "comma" } else { "point" });
    asked.note(Decision {
        id: "decimal".to_owned(),
        sentence: say!("Decimals stand behind a {word}."),
        evidence,
        chosen: word.to_owned(),
        alternatives: known,
        ambiguous: found.open && given.is_none(),
    });
    Ok(mark)
}

/// Says where the column names stand.
pub(crate) fn note_header(head: &Header, first_line: u64, asked: &mut Asked) {
    let named = head.names.iter().filter(|n| !n.header.is_empty()).count();
    let (sentence, evidence, chosen) = if named == 0 {
        (worded("The columns have no names."), say!("numbers begin on line {first_line}"), "none")
    } else {
        let names: Vec<&str> = head.names.iter().take(4).map(|n| n.header.as_str()).collect();
        let more = if head.names.len() > 4 { ", …" } else { "" };
        let sentence = say!("The columns are named {}{more}.", names.join(", "));
        let lines = if head.n_lines > 1 {
            say!("{} lines of header", head.n_lines)
        } else {
            worded("a line of names")
        };
        (sentence, say!("{lines} before line {first_line}"), "named")
    };
    asked.note(Decision {
        id: "header".to_owned(),
        sentence,
        evidence,
        chosen: chosen.to_owned(),
        alternatives: Vec::new(),
        ambiguous: false,
    });
}

/// Says that a long log became a wide one.
pub(crate) fn note_pivot(pivot: Option<&Pivot>, columns: &[Planned], asked: &mut Asked) {
    let Some(pivot) = pivot else { return };
    let names: Vec<&str> = pivot.named.iter().take(6).map(|n| n.header.as_str()).collect();
    let header = columns.get(pivot.key).map_or("", |c| c.named.header.as_str());
    let place = if header.is_empty() {
        say!("column {}", pivot.key + 1)
    } else {
        format!("“{header}”")
    };
    asked.note(Decision {
        id: "pivot".to_owned(),
        sentence: worded(
            "Each row holds the values of one quantity; rows of one moment become one sample.",
        ),
        evidence: say!("{place} names them: {}", names.join(", ")),
        chosen: "wide".to_owned(),
        alternatives: Vec::new(),
        ambiguous: false,
    });
}

/// The columns that tell the time, and the unit of a count.
pub(crate) fn clock(
    columns: &[Seen],
    found: &[Candidate],
    prefixed: bool,
    asked: &mut Asked,
) -> Result<Candidate, ReadError> {
    let prefix = prefixed.then(|| Candidate {
        id: "prefix".to_owned(),
        kind: "date+time",
        tasks: Vec::new(),
        evidence: worded("a time before each line"),
        score: 52,
        unit_s: 0.0,
        guessed: false,
    });
    let mut all: Vec<Candidate> = found.iter().cloned().chain(prefix).collect();
    all.extend(counters(columns));
    record::sort::by(&mut all, |a, b| b.score.cmp(&a.score));
    let known: Vec<(String, String)> =
        unique(&all).iter().map(|c| (c.id.clone(), format!("{}: {}", c.id, c.evidence))).collect();
    let given = asked.answer("time", &known)?;
    let chosen = match &given {
        Some(id) => all.iter().find(|c| c.id == *id),
        None => all.first(),
    };
    let Some(mut chosen) = chosen.cloned() else {
        return Ok(candidates(&[]).remove(0));
    };
    let ambiguous = given.is_none()
        && all.get(1).is_some_and(|next| {
            next.score > 0
                && next.kind == chosen.kind
                && chosen.score - next.score < 1
                && next.id != chosen.id
        });
    let sentence = match chosen.kind {
        "none" => worded("The log holds no times."),
        _ => say!(
            "Times come from {}.",
            chosen.id.split('+').collect::<Vec<_>>().join(word(" and "))
        ),
    };
    asked.note(Decision {
        id: "time".to_owned(),
        sentence,
        evidence: chosen.evidence.clone(),
        chosen: chosen.id.clone(),
        alternatives: known,
        ambiguous,
    });
    if chosen.kind == "uptime" {
        unit_of_count(columns, &mut chosen, asked)?;
    }
    Ok(chosen)
}

// Two candidates of one id: the better one.
fn unique(all: &[Candidate]) -> Vec<&Candidate> {
    let mut out: Vec<&Candidate> = Vec::new();
    for candidate in all {
        if !out.iter().any(|other| other.id == candidate.id) {
            out.push(candidate);
        }
    }
    out
}

// Number columns that run could count time too, if the student says so.
fn counters(columns: &[Seen]) -> Vec<Candidate> {
    let running = (0..columns.len()).filter(|k| {
        let seen = &columns[*k];
        seen.named.quantity == Quantity::Counter
            && seen.profile.mostly(seen.profile.numbers)
            && seen.profile.runs()
    });
    running
        .map(|place| Candidate {
            id: label(columns, place),
            kind: "uptime",
            tasks: vec![(place, Task::Count(9))],
            evidence: worded("a running number, one second each"),
            score: -10,
            unit_s: 1.0,
            guessed: true,
        })
        .collect()
}

const COUNT_UNITS: [(&str, f64); 6] =
    [("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("ns", 1e-9), ("min", 60.0), ("h", 3600.0)];

fn unit_of_count(
    columns: &[Seen],
    chosen: &mut Candidate,
    asked: &mut Asked,
) -> Result<(), ReadError> {
    let known: Vec<(String, String)> = COUNT_UNITS
        .iter()
        .map(|(id, s)| ((*id).to_owned(), counts::unit_word(*s).to_owned()))
        .collect();
    let given = asked.answer("time-unit", &known)?;
    if let Some(id) = &given
        && let Some((_, unit)) = COUNT_UNITS.iter().find(|(known, _)| known == id)
        && let Some((_, task)) = chosen.tasks.first_mut()
    {
        chosen.unit_s = *unit;
        *task = counts::task(*unit);
    }
    let id = COUNT_UNITS.iter().find(|(_, s)| *s == chosen.unit_s).map_or("s", |(id, _)| id);
    let evidence = match (&given, chosen.guessed) {
        (Some(_), _) => worded("your choice"),
        (None, true) => chosen.evidence.clone(),
        (None, false) => chosen.tasks.first().map_or(String::new(), |(place, _)| {
            say!("the header “{}”", columns[*place].named.header)
        }),
    };
    asked.note(Decision {
        id: "time-unit".to_owned(),
        sentence: say!("Times count {}.", counts::unit_word(chosen.unit_s)),
        evidence,
        chosen: id.to_owned(),
        alternatives: known,
        ambiguous: chosen.guessed && given.is_none(),
    });
    Ok(())
}
