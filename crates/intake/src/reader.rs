//! The reader: chunks of bytes in, a reading out.
//!
//! Bytes are hashed, unpacked when they are gzip, decoded, cut into lines.
//! The first lines are held back until they tell the format; from then on
//! every line is read as it comes.  Where the chunks are cut makes no
//! difference.

use crate::assemble::{self, Outside};
use crate::decode::{Decoder, text};
use crate::dialect::Separator;
use crate::lines::Lines;
use crate::rows::Rows;
use crate::sniff::Line;
use crate::unpack::Unpack;
use crate::{
    Choices, Decision, ReadError, Reading, draft, iaga, json_lines, json_table, kinds, pivot,
};
use record::{Role, Station, Unit, say, words::worded};
use sha2::{Digest, Sha256};

/// Bytes held back until encoding and kind of file are known.
const HEAD: usize = 4096;
/// Bytes that are worked on at a time.
const PIECE: usize = 1 << 16;
/// Lines held back until the format is known, comments and blanks apart.
const SAMPLE_LINES: usize = 400;
/// Bytes held back at most.
const SAMPLE_BYTES: usize = 1 << 20;

/// Reads a log chunk by chunk.
///
/// # Example
///
/// ```
/// let mut reader = intake::Reader::new("garden.csv", &intake::Choices::default());
/// reader.push(b"time,bx_nt,by_nt,bz_nt\n2026-05-03T14:20:00Z,16632.2,-1003.1,4774")?;
/// reader.push(b"3.5\n2026-05-03T14:20:30Z,16632.3,-1003.0,47743.6\n")?;
/// let reading = reader.finish()?;
/// assert_eq!(reading.record.len(), 2);
/// assert_eq!(reading.report.time.cadence_s, 30.0);
/// # Ok::<(), intake::ReadError>(())
/// ```
#[derive(Debug)]
pub struct Reader {
    name: String,
    choices: Choices,
    // None where the caller hashes.
    hash: Option<Sha256>,
    sha256: String,
    bytes: u64,
    start: Vec<u8>,
    unpack: Option<Unpack>,
    text: Text,
}

/// Reads a whole log.
///
/// # Errors
///
/// [`ReadError`] when no record can be made of it.
pub fn read(name: &str, bytes: &[u8], choices: &Choices) -> Result<Reading, ReadError> {
    let mut reader = Reader::new(name, choices);
    reader.expect_bytes(bytes.len() as u64);
    reader.push(bytes)?;
    reader.finish()
}

impl Reader {
    /// A reader for a file of this name (the name helps to tell what bare x, y
    /// and z are), with the student's answers to its decisions.
    pub fn new(name: &str, choices: &Choices) -> Self {
        Self {
            name: name.to_owned(),
            choices: choices.clone(),
            hash: Some(Sha256::new()),
            sha256: String::new(),
            bytes: 0,
            start: Vec::new(),
            unpack: None,
            text: Text::new(choices.clone()),
        }
    }

    /// Says how many bytes will come, so that room for the columns can be made
    /// at once.  Nothing goes wrong when it is not said, or is not so.
    pub fn expect_bytes(&mut self, bytes: u64) {
        self.text.expected = bytes;
    }

    /// Leaves the SHA-256 of the bytes to the caller, who may have a faster way to it and
    /// says it by [`Self::set_sha256`]; until then the report has none.
    pub fn leave_hash(&mut self) {
        self.hash = None;
    }

    /// Says the SHA-256 of all bytes in hexadecimal, when it was left to the caller.
    pub fn set_sha256(&mut self, sha256: &str) {
        sha256.clone_into(&mut self.sha256);
    }

    /// Takes the next bytes.
    ///
    /// # Errors
    ///
    /// [`ReadError`] as soon as the bytes show that no record can be made.
    pub fn push(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        if let Some(hash) = &mut self.hash {
            hash.update(bytes);
        }
        let first = self.bytes == 0 || !self.start.is_empty();
        self.bytes += bytes.len() as u64;
        if !first {
            return self.unpacked(bytes);
        }
        // Two bytes tell whether the file is packed.
        let missing = 2 - self.start.len().min(2);
        let (two, rest) = bytes.split_at(bytes.len().min(missing));
        self.start.extend_from_slice(two);
        if self.start.len() < 2 {
            return Ok(());
        }
        let start = std::mem::take(&mut self.start);
        if start == [0x1F, 0x8B] {
            self.unpack = Some(Unpack::new());
        }
        self.unpacked(&start)?;
        self.unpacked(rest)
    }

    fn unpacked(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        match &mut self.unpack {
            None => self.text.push(bytes),
            Some(unpack) => unpack.push(bytes, |plain| self.text.push(plain)),
        }
    }

    /// Ends the log and makes the reading.
    ///
    /// # Errors
    ///
    /// [`ReadError`] when no record can be made of what came.
    pub fn finish(mut self) -> Result<Reading, ReadError> {
        let start = std::mem::take(&mut self.start);
        if !start.is_empty() {
            self.unpacked(&start)?;
        }
        let mut packed = None;
        if let Some(unpack) = self.unpack.take() {
            packed = Some(unpack.finish(|plain| self.text.push(plain))?);
        }
        let sha256 = match self.hash {
            Some(hash) => hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect(),
            None => self.sha256,
        };
        let (rows, mut outside) = self.text.finish(self.bytes)?;
        outside.name = self.name;
        outside.sha256 = sha256;
        outside.bytes = self.bytes;
        if let Some((plain, padding)) = packed {
            outside.padding += padding;
            outside.decisions.insert(
                0,
                Decision {
                    id: "packing".to_owned(),
                    sentence: worded("The file was packed with gzip and was unpacked."),
                    evidence: say!("its first bytes; {} bytes became {plain}", self.bytes),
                    chosen: "gzip".to_owned(),
                    alternatives: Vec::new(),
                    ambiguous: false,
                },
            );
        }
        assemble::reading(rows, outside, &self.choices)
    }
}

// What the engine needs to know besides the lines.
#[derive(Clone, Copy)]
struct Asked<'a> {
    choices: &'a Choices,
    expected: u64,
}

// The text of the log, from its first byte on.
#[derive(Debug)]
struct Text {
    choices: Choices,
    head: Vec<u8>,
    decoder: Option<Decoder>,
    lines: Lines,
    engine: Engine,
    expected: u64,
}

#[derive(Debug)]
enum Engine {
    Sample { lines: Vec<Line>, filled: usize, bytes: usize, json: bool },
    Rows(Box<(Rows, Outside)>),
    Document(Vec<u8>),
    Failed(ReadError),
}

impl Text {
    fn new(choices: Choices) -> Self {
        let engine = Engine::Sample { lines: Vec::new(), filled: 0, bytes: 0, json: false };
        Self {
            choices,
            head: Vec::new(),
            decoder: None,
            lines: Lines::default(),
            engine,
            expected: 0,
        }
    }

    fn push(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        if self.decoder.is_some() {
            return self.decoded(bytes);
        }
        let missing = HEAD.saturating_sub(self.head.len());
        let (first, rest) = bytes.split_at(bytes.len().min(missing));
        self.head.extend_from_slice(first);
        if self.head.len() < HEAD {
            return Ok(());
        }
        self.open()?;
        let head = std::mem::take(&mut self.head);
        self.decoded(&head)?;
        self.decoded(rest)
    }

    // Looks at the first bytes: kind of file, encoding, JSON or not.
    fn open(&mut self) -> Result<(), ReadError> {
        let head = &self.head[..self.head.len().min(HEAD)];
        let mut decoder = Decoder::new(head);
        let wide = decoder.name().starts_with("utf-16");
        if !wide && let Some(kind) = kinds::not_a_log(head) {
            return Err(ReadError::NotALog(kind));
        }
        let plain = decoder.push(head);
        if json_lines::begins(plain) {
            self.lines = Lines::unlimited();
            self.engine = Engine::Sample { lines: Vec::new(), filled: 0, bytes: 0, json: true };
        }
        self.decoder = Some(Decoder::new(head));
        Ok(())
    }

    // A piece at a time: what was just looked at is still near when its lines are cut.
    fn decoded(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        bytes.chunks(PIECE).try_for_each(|piece| self.piece(piece))
    }

    fn piece(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        let Some(decoder) = &mut self.decoder else { return Ok(()) };
        let engine = &mut self.engine;
        let asked = Asked { choices: &self.choices, expected: self.expected };
        let plain = decoder.push(bytes);
        match engine {
            // The loop of a long log, kept free of everything else.
            Engine::Rows(rows) => self.lines.push(plain, |number, line| rows.0.line(number, line)),
            _ => self.lines.push(plain, |number, line| engine.line(number, line, asked)),
        }
        match &self.engine {
            Engine::Failed(error) => Err(error.clone()),
            _ => Ok(()),
        }
    }

    fn finish(mut self, bytes: u64) -> Result<(Rows, Outside), ReadError> {
        if self.decoder.is_none() {
            if self.head.trim_ascii().is_empty() {
                return Err(ReadError::Empty { bytes });
            }
            self.open()?;
            let head = std::mem::take(&mut self.head);
            self.decoded(&head)?;
        }
        let asked = Asked { choices: &self.choices, expected: self.expected };
        let engine = &mut self.engine;
        let whole = !self.lines.finish(|number, line| engine.line(number, line, asked));
        engine.close(asked);
        let (encoding, padding) = self.decoder.map_or(("utf-8", 0), |d| (d.name(), d.padding));
        match self.engine {
            Engine::Rows(rows) => {
                let (mut rows, mut outside) = *rows;
                rows.close();
                outside.encoding = encoding;
                outside.padding = padding;
                outside.whole = whole || rows.is_json();
                Ok((rows, outside))
            }
            Engine::Document(document) => {
                let (mut rows, mut outside) = json_table::rows(&document, &self.choices)?;
                outside.whole = true;
                outside.encoding = encoding;
                outside.padding = padding;
                rows.close();
                Ok((rows, outside))
            }
            Engine::Failed(error) => Err(error),
            Engine::Sample { .. } => Err(ReadError::Empty { bytes }),
        }
    }
}

impl Engine {
    fn line(&mut self, number: u64, line: &[u8], asked: Asked) {
        match self {
            Self::Sample { lines, filled, bytes, .. } => {
                let bare = line.trim_ascii();
                *filled += usize::from(!matches!(bare.first(), None | Some(b'#' | b'%' | b'/')));
                *bytes += line.len();
                lines.push((number, line.to_vec()));
                if *filled >= SAMPLE_LINES || *bytes >= SAMPLE_BYTES {
                    self.begin(asked);
                }
            }
            Self::Rows(rows) => rows.0.line(number, line),
            Self::Document(document) => {
                document.extend_from_slice(line);
                document.push(b'\n');
            }
            Self::Failed(_) => {}
        }
    }

    // The end of a file shorter than the sample.
    fn close(&mut self, asked: Asked) {
        if let Self::Sample { filled, .. } = self
            && *filled > 0
        {
            self.begin(asked);
        } else if let Self::Sample { lines, .. } = self
            && let Some((_, first)) = lines.iter().find(|(_, l)| !l.trim_ascii().is_empty())
        {
            let text = crate::decode::excerpt(first, 60);
            *self = Self::Failed(ReadError::NoNumbers { lines: lines.len() as u64, text });
        }
    }

    fn begin(&mut self, asked: Asked) {
        let Self::Sample { lines, json, .. } = self else { return };
        let lines = std::mem::take(lines);
        let json = *json;
        *self = match begun(&lines, json, asked) {
            Ok(engine) => engine,
            Err(error) => Self::Failed(error),
        };
        if let Self::Document(_) = self {
            lines.iter().for_each(|(number, line)| self.line(*number, line, asked));
        }
    }
}

fn begun(lines: &[Line], json: bool, asked: Asked) -> Result<Engine, ReadError> {
    if json {
        return match json_lines::keys(lines) {
            Some(keys) => {
                let drafted = draft::keyed(lines, Separator::Json(keys), asked.choices)?;
                Ok(start(drafted, lines, Vec::new(), (None, String::new()), asked.expected))
            }
            None => Ok(Engine::Document(Vec::new())),
        };
    }
    if let Some(header) = iaga::header(lines) {
        let roles = header.roles();
        let told = (header.station(), header.data_type());
        return Ok(start(iaga::draft(header), lines, roles, told, asked.expected));
    }
    let drafted = draft::table(lines, asked.choices)?;
    Ok(start(drafted, lines, Vec::new(), (None, String::new()), asked.expected))
}

fn start(
    drafted: draft::Draft,
    lines: &[Line],
    roles: Vec<Option<(Role, Unit)>>,
    (station, data_type): (Option<Station>, String),
    expected: u64,
) -> Engine {
    let draft::Draft { plan, first_line, preamble, decisions } = drafted;
    let observatory = !roles.is_empty();
    let format = if observatory { "iaga-2002" } else { plan.format() };
    let preamble = preamble.iter().map(|line| text(line).trim().to_owned()).collect();
    let told = Outside { station, data_type, roles, ..Outside::default() };
    let data: Vec<Line> =
        lines.iter().filter(|(number, _)| *number >= first_line).cloned().collect();
    let first = data.first().map_or(String::new(), |(_, line)| crate::decode::excerpt(line, 60));
    let outside = Outside { format, preamble, decisions, first, ..told };
    let mut rows = Rows::expecting(pivot::settled(plan, &data), rows_expected(&data, expected));
    for (number, line) in lines {
        if *number >= first_line {
            rows.line(*number, line);
        } else {
            rows.before(line);
        }
    }
    Engine::Rows(Box::new((rows, outside)))
}

// Rows in so many bytes, when all are as long as those of the sample; a
// hundredth more, since lengths vary.
fn rows_expected(sample: &[Line], bytes: u64) -> usize {
    let length: u64 = sample.iter().map(|(_, line)| line.len() as u64 + 1).sum();
    if sample.len() < SAMPLE_LINES / 2 || length == 0 {
        return 0;
    }
    let rows = bytes.saturating_mul(sample.len() as u64) / length;
    usize::try_from(rows + rows / 100).unwrap_or(0)
}
