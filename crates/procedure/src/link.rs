//! The share link: a procedure, packed into the part of an address that is
//! never sent to a server.
//!
//! Form: `1.LENGTH.PAYLOADCHECK`.  The payload is base64url (RFC 4648, section
//! 5, without padding) of deflate (RFC 1951) of JSON text; LENGTH counts the
//! characters after it, so that a link cut short is told from a damaged one;
//! CHECK is four characters of `0-9a-z` from a CRC-32.  Only `A-Za-z0-9._-`
//! occur, and the last character is a letter or digit, which programs that turn
//! text into links leave whole.

use crate::procedure::{Choice, Procedure, SCHEMA};
use flate2::{Compress, Compression, Crc, Decompress, FlushCompress, FlushDecompress, Status};
use record::{Fault, print, say};
use serde_json::{Map, Value as Json, json};

/// The version of the link's form.
const FORM: &str = "1";

/// Characters of the check at the end.
const CHECK: usize = 4;

/// The most bytes of JSON text that a link may unpack to.
const MOST_BYTES: usize = 262_144;

/// How deep its JSON may be nested.
const DEEPEST: usize = 16;

/// The procedure with what equals the defaults left out.  A step is its name, or
/// `[name, {key: value}]`, or `[name, {…}, 0]` when it is switched off; [`read`]
/// writes it out as in a procedure file.
pub fn brief(procedure: &Procedure) -> Json {
    let steps: Vec<Json> = procedure.steps.iter().map(brief_step).collect();
    json!({ "schema": SCHEMA, "steps": steps })
}

fn brief_step(choice: &Choice) -> Json {
    let whole = choice.to_json();
    let usual = Choice::of(choice.step).to_json();
    let differs = |(key, value): &(&String, &Json)| usual["set"].get(*key) != Some(*value);
    let set: Map<String, Json> = whole["set"]
        .as_object()
        .into_iter()
        .flatten()
        .filter(differs)
        .map(|(key, value)| (key.clone(), shorter(value)))
        .collect();
    match (choice.on, set.is_empty()) {
        (true, true) => json!(choice.step.id),
        (true, false) => json!([choice.step.id, set]),
        (false, _) => json!([choice.step.id, set, 0]),
    }
}

// A step of `brief` as a procedure file writes it; what has the file's form
// already stays.
fn written_out(step: &Json) -> Json {
    match step {
        Json::String(id) => json!({ "step": id }),
        Json::Array(parts) => {
            let set = parts.get(1).cloned().unwrap_or_else(|| json!({}));
            json!({ "step": parts.first(), "on": parts.len() < 3, "set": set })
        }
        other => other.clone(),
    }
}

// `11.0` is the number 11.
fn shorter(value: &Json) -> Json {
    match value.as_f64() {
        Some(n) if n.fract() == 0.0 && n.abs() < 1e15 => json!(n as i64),
        _ => value.clone(),
    }
}

/// The text of a link's fragment, without `#`.
pub fn write(content: &Json) -> String {
    let text = crate::json::text(content);
    let packed = packed(text.as_bytes(), Compression::best());
    let payload = base64url(&packed);
    format!("{FORM}.{}.{payload}{}", payload.len() + CHECK, check(&payload))
}

/// Bytes packed by deflate (RFC 1951).
pub(crate) fn packed(bytes: &[u8], level: Compression) -> Vec<u8> {
    let mut packer = Compress::new(level, false);
    let mut out = Vec::new();
    loop {
        out.reserve(bytes.len() / 2 + 64);
        let left = &bytes[packer.total_in() as usize..];
        let status = packer.compress_vec(left, &mut out, FlushCompress::Finish);
        // It cannot fail: what does not fit yet is written in the next round.
        if !matches!(status, Ok(Status::Ok | Status::BufError)) {
            return out;
        }
    }
}

// Whole, or as much as is too large; none where it is damaged.
fn unpacked(packed: &[u8]) -> Option<Vec<u8>> {
    let mut unpacker = Decompress::new(false);
    let mut out = Vec::new();
    while out.len() <= MOST_BYTES {
        out.reserve(16_384);
        let before = (unpacker.total_in(), out.len());
        let left = &packed[before.0 as usize..];
        let status = unpacker.decompress_vec(left, &mut out, FlushDecompress::None).ok()?;
        if status == Status::StreamEnd {
            return Some(out);
        }
        if before == (unpacker.total_in(), out.len()) {
            return None;
        }
    }
    Some(out)
}

/// What a link holds.
///
/// # Errors
///
/// `link/...`: cut short, damaged, of a newer form, or too large; what stands
/// in its procedure is checked when the procedure is used.
pub fn read(fragment: &str) -> Result<Json, Fault> {
    let mut parts = fragment.splitn(3, '.');
    let form = parts.next().unwrap_or("");
    let whole: usize = parts.next().and_then(|n| n.parse().ok()).ok_or_else(no_link)?;
    let rest = parts.next().ok_or_else(no_link)?;
    if form != FORM {
        return Err(of_another_form(form));
    }
    // What a message added behind the link is not the link's.
    let held = rest.get(..whole).ok_or_else(|| cut(rest.chars().count(), whole))?;
    let payload = held.len().checked_sub(CHECK).and_then(|n| held.get(..n)).ok_or_else(no_link)?;
    if held[payload.len()..] != check(payload) {
        return Err(damaged());
    }
    let packed = from_base64url(payload).ok_or_else(damaged)?;
    let bytes = unpacked(&packed).ok_or_else(damaged)?;
    if bytes.len() > MOST_BYTES {
        return Err(too_large());
    }
    let mut content: Json = serde_json::from_slice(&bytes).map_err(|_| damaged())?;
    if depth(&content) > DEEPEST {
        return Err(too_large());
    }
    if let Some(steps) = content.get_mut("steps").and_then(Json::as_array_mut) {
        steps.iter_mut().for_each(|step| *step = written_out(step));
    }
    Ok(content)
}

fn depth(json: &Json) -> usize {
    match json {
        Json::Array(list) => 1 + list.iter().map(depth).max().unwrap_or(0),
        Json::Object(map) => 1 + map.values().map(depth).max().unwrap_or(0),
        _ => 0,
    }
}

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

fn base64url(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let word = group.iter().fold(0u32, |word, b| word << 8 | u32::from(*b));
        let word = word << (8 * (3 - group.len()));
        for place in 0..=group.len() {
            out.push(char::from(LETTERS[(word >> (18 - 6 * place) & 63) as usize]));
        }
    }
    out
}

fn from_base64url(text: &str) -> Option<Vec<u8>> {
    let mut out = Vec::with_capacity(text.len() / 4 * 3 + 2);
    for group in text.as_bytes().chunks(4) {
        let mut word = 0u32;
        for letter in group {
            let value = LETTERS.iter().position(|l| l == letter)?;
            word = word << 6 | u32::try_from(value).ok()?;
        }
        let bytes = match group.len() {
            4 => 3,
            3 => 2,
            2 => 1,
            _ => return None,
        };
        word <<= 6 * (4 - group.len());
        out.extend((0..bytes).map(|k| (word >> (16 - 8 * k)) as u8));
    }
    Some(out)
}

fn check(payload: &str) -> String {
    let mut crc = Crc::new();
    crc.update(payload.as_bytes());
    let mut rest = crc.sum();
    let mut digit = || {
        let value = (rest % 36) as u8;
        rest /= 36;
        char::from(if value < 10 { b'0' + value } else { b'a' + value - 10 })
    };
    (0..CHECK).map(|_| digit()).collect()
}

const ASK_AGAIN: &str = "Ask for the link again, copied whole, or for the procedure as a file, which is dropped on this page.";

fn no_link() -> Fault {
    Fault::new("link/none", "The end of this address is not a Lodelog link.", ASK_AGAIN)
}

fn cut(arrived: usize, whole: usize) -> Fault {
    let (arrived, whole) = (print::count(arrived), print::count(whole));
    Fault::new(
        "link/cut",
        say!("This link is incomplete: {arrived} of {whole} characters arrived."),
        ASK_AGAIN,
    )
}

fn damaged() -> Fault {
    Fault::new("link/damaged", "This link was changed on its way: its check fails.", ASK_AGAIN)
}

fn too_large() -> Fault {
    Fault::new(
        "link/too-large",
        say!("This link unpacks to more than {} kB, so it was not opened.", MOST_BYTES / 1024),
        "Links made here stay far below that. Ask for the procedure as a file.",
    )
}

fn of_another_form(form: &str) -> Fault {
    Fault::new(
        "link/newer",
        say!("This link has form “{form}”; this version knows form {FORM}."),
        "Open it with the version that made it, or reload the page for the newest.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Json {
        json!({ "schema": 1, "steps": [{ "step": "spikes", "set": { "threshold": 4 } }] })
    }

    #[test]
    fn a_link_comes_back_and_uses_safe_letters() {
        let link = write(&sample());
        assert_eq!(read(&link).unwrap(), sample());
        let safe = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
        assert!(link.chars().all(safe), "{link}");
        assert!(link.ends_with(|c: char| c.is_ascii_alphanumeric()));
        assert_eq!(read(&format!("{link}).")).unwrap(), sample(), "a bracket behind the link");
    }

    #[test]
    fn a_link_that_lost_its_end_says_how_much() {
        let link = write(&sample());
        let fault = read(&link[..link.len() - 5]).unwrap_err();
        assert_eq!(fault.code, "link/cut");
        let n = link.splitn(3, '.').last().unwrap().len();
        let told = format!("This link is incomplete: {} of {n} characters arrived.", n - 5);
        assert_eq!(fault.message, told);
    }

    #[test]
    fn each_changed_letter_is_noticed() {
        let link = write(&sample());
        let start = link.rfind('.').unwrap() + 1;
        for place in start..link.len() {
            let mut bytes = link.clone().into_bytes();
            bytes[place] = if bytes[place] == b'A' { b'B' } else { b'A' };
            let changed = String::from_utf8(bytes).unwrap();
            assert_eq!(read(&changed).unwrap_err().code, "link/damaged", "place {place}");
        }
    }

    #[test]
    fn other_texts_are_refused_in_words() {
        for text in ["", "demo", "1", "1.", "1.x.y", "1.3.abc", "ä.4.öäüß", "1.4.öäüß"] {
            assert!(read(text).unwrap_err().code.starts_with("link/"), "{text}");
        }
        assert_eq!(read(&write(&sample()).replacen('1', "2", 1)).unwrap_err().code, "link/newer");
    }

    #[test]
    fn what_unpacks_to_too_much_is_not_opened() {
        let large = json!({ "text": " ".repeat(50_000_000) });
        assert_eq!(read(&write(&large)).unwrap_err().code, "link/too-large");
        let deep = (0..DEEPEST).fold(json!(1), |inner, _| json!([inner]));
        assert!(read(&write(&deep)).is_ok());
        assert_eq!(read(&write(&json!([deep]))).unwrap_err().code, "link/too-large");
    }

    #[test]
    fn base64url_agrees_with_rfc_4648() {
        // RFC 4648, section 10, without the padding.
        let known = [
            ("", ""),
            ("f", "Zg"),
            ("fo", "Zm8"),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg"),
            ("fooba", "Zm9vYmE"),
        ];
        for (plain, coded) in known {
            assert_eq!(base64url(plain.as_bytes()), coded);
            assert_eq!(from_base64url(coded).unwrap(), plain.as_bytes());
        }
        assert_eq!(base64url(&[0xfb, 0xff]), "-_8");
        assert_eq!(from_base64url("Zm9v="), None);
    }

    #[test]
    fn a_brief_procedure_reads_as_the_whole_one() {
        let mut procedure = Procedure::default();
        for step in crate::steps::ALL {
            procedure.steps.push(Choice::of(step));
        }
        let mut edited = procedure.clone();
        edited.steps[0].on = false;
        for one in [procedure, edited] {
            let back = read(&write(&brief(&one))).unwrap();
            assert!(Procedure::from_json(&back).unwrap() == one);
        }
    }
}
