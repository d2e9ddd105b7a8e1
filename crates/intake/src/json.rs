//! JSON: values of one row with their paths, and whole documents as rows.
//!
//! A value is flattened: `{"mag":{"x":1},"t":[2,3]}` has the paths `mag.x`,
//! `t.0`, `t.1`.  Strings come without their quotes, escapes as they stand.

use crate::dialect::Cells;

/// The deepest nesting followed; a hostile file may nest without end.
const DEEPEST: usize = 32;
/// The most values of one row.
const WIDEST: usize = 4_096;

/// A path and the place of its value.
pub(crate) type Leaf = (Vec<u8>, (usize, usize));

/// The leaves of one JSON value that fills the line; `None` when it is broken.
pub(crate) fn leaves(line: &[u8]) -> Option<Vec<Leaf>> {
    let mut found = Vec::new();
    let mut path = Vec::new();
    let start = blanks(line, 0);
    let end = value(line, start, &mut path, 0, &mut found)?;
    (blanks(line, end) == line.len()).then_some(found)
}

/// Cells of a row in the order of `keys`; absent ones are blank.
pub(crate) fn split(line: &[u8], keys: &[Vec<u8>], cells: &mut Cells) -> Option<()> {
    fill(line, keys, cells).map(|_| ())
}

/// The same, and how many values have no key among them.
pub(crate) fn fill(line: &[u8], keys: &[Vec<u8>], cells: &mut Cells) -> Option<usize> {
    cells.clear();
    cells.resize(keys.len(), (0, 0));
    let mut unknown = 0;
    let found = leaves(line.strip_suffix(b",").unwrap_or(line))?;
    // Rows mostly have the keys of the first, in its order.
    for (nth, (path, (start, end))) in found.iter().enumerate() {
        let place = if keys.get(nth) == Some(path) {
            Some(nth)
        } else {
            keys.iter().position(|key| key == path)
        };
        match place {
            Some(place) => cells[place] = (*start as u32, *end as u32),
            None => unknown += 1,
        }
    }
    Some(unknown)
}

/// The place behind blanks.
pub(crate) fn blanks(text: &[u8], from: usize) -> usize {
    from + text.get(from..).map_or(0, |rest| {
        rest.iter().take_while(|b| matches!(b, b' ' | b'\t' | b'\n' | b'\r')).count()
    })
}

// Reads a value, notes its leaves, returns the place behind it.
fn value(
    text: &[u8],
    at: usize,
    path: &mut Vec<u8>,
    depth: usize,
    found: &mut Vec<Leaf>,
) -> Option<usize> {
    if depth > DEEPEST || found.len() > WIDEST {
        return None;
    }
    match text.get(at)? {
        b'{' => object(text, at + 1, path, depth, found),
        b'[' => array(text, at + 1, path, depth, found),
        b'"' => {
            let end = string_end(text, at + 1)?;
            found.push((path.clone(), (at + 1, end)));
            Some(end + 1)
        }
        _ => {
            let end = bare_end(text, at)?;
            found.push((path.clone(), (at, end)));
            Some(end)
        }
    }
}

fn object(
    text: &[u8],
    from: usize,
    path: &mut Vec<u8>,
    depth: usize,
    found: &mut Vec<Leaf>,
) -> Option<usize> {
    let mut at = blanks(text, from);
    if text.get(at) == Some(&b'}') {
        return Some(at + 1);
    }
    loop {
        if text.get(at) != Some(&b'"') {
            return None;
        }
        let end = string_end(text, at + 1)?;
        let outer = path.len();
        step_into(path, &text[at + 1..end]);
        at = blanks(text, end + 1);
        if text.get(at) != Some(&b':') {
            return None;
        }
        at = value(text, blanks(text, at + 1), path, depth + 1, found)?;
        path.truncate(outer);
        at = blanks(text, at);
        match text.get(at)? {
            b',' => at = blanks(text, at + 1),
            b'}' => return Some(at + 1),
            _ => return None,
        }
    }
}

fn array(
    text: &[u8],
    from: usize,
    path: &mut Vec<u8>,
    depth: usize,
    found: &mut Vec<Leaf>,
) -> Option<usize> {
    let mut at = blanks(text, from);
    if text.get(at) == Some(&b']') {
        return Some(at + 1);
    }
    let mut place = 0usize;
    loop {
        let outer = path.len();
        step_into(path, place.to_string().as_bytes());
        at = value(text, at, path, depth + 1, found)?;
        path.truncate(outer);
        place += 1;
        at = blanks(text, at);
        match text.get(at)? {
            b',' => at = blanks(text, at + 1),
            b']' => return Some(at + 1),
            _ => return None,
        }
    }
}

fn step_into(path: &mut Vec<u8>, key: &[u8]) {
    if !path.is_empty() {
        path.push(b'.');
    }
    path.extend_from_slice(key);
}

/// The place of the quote that ends a string begun before `from`.
pub(crate) fn string_end(text: &[u8], mut from: usize) -> Option<usize> {
    loop {
        let mark = from + memchr::memchr2(b'"', b'\\', text.get(from..)?)?;
        if text[mark] == b'"' {
            return Some(mark);
        }
        from = mark + 2;
    }
}

// Numbers, true, false, null, and the NaN and Infinity that some writers use.
fn bare_end(text: &[u8], at: usize) -> Option<usize> {
    let word = |b: &u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'+' | b'.');
    let length = text[at..].iter().take_while(|b| word(b)).count();
    (length > 0).then_some(at + length)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nested_values_have_dotted_paths() {
        let line = br#" {"mag":{"x":1.5,"y":-2},"t":[3,"a\"b"],"e":{},"n":null} "#;
        let shown: Vec<(String, String)> = leaves(line)
            .unwrap()
            .into_iter()
            .map(|(p, (a, b))| {
                (String::from_utf8(p).unwrap(), String::from_utf8(line[a..b].to_vec()).unwrap())
            })
            .collect();
        let want =
            [("mag.x", "1.5"), ("mag.y", "-2"), ("t.0", "3"), ("t.1", r#"a\"b"#), ("n", "null")];
        assert_eq!(shown, want.map(|(a, b)| (a.to_owned(), b.to_owned())));
    }

    #[test]
    fn broken_and_endless_values_are_refused() {
        for line in ["{", "{\"a\"}", "{\"a\":1", "[1,2", "{\"a\":1} x", "", "{a:1}"] {
            assert_eq!(leaves(line.as_bytes()), None, "{line}");
        }
        assert_eq!(leaves("[".repeat(100_000).as_bytes()), None);
    }
}
