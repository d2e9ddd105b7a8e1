//! A CSV file in the form that a spreadsheet takes without questions.

/// The same rows for a spreadsheet.
///
/// `csv` is a file as [`crate::table::csv`] writes it.  The block of `#` lines
/// is left out; a byte-order mark says that it is UTF-8; times become
/// `2026-05-01 14:20:00`; with `comma`, decimals have a comma and cells are
/// parted by `;`.  A text that a spreadsheet would take for a formula gets an
/// apostrophe.
pub fn spreadsheet(csv: &str, comma: bool) -> String {
    let mut out = String::with_capacity(csv.len());
    out.push('\u{feff}');
    for row in csv.split("\r\n").filter(|row| !row.is_empty() && !row.starts_with('#')) {
        for (place, cell) in cells(row).into_iter().enumerate() {
            if place > 0 {
                out.push(if comma { ';' } else { ',' });
            }
            write(&mut out, &cell, comma);
        }
        out.push_str("\r\n");
    }
    out
}

/// The cells of a row, quotes taken off.
fn cells(row: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut cell = String::new();
    let mut inside = false;
    let mut letters = row.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            // Two quotes inside quotes stand for one.
            '"' if inside && letters.next_if_eq(&'"').is_some() => cell.push('"'),
            '"' => inside = !inside,
            ',' if !inside => out.push(std::mem::take(&mut cell)),
            other => cell.push(other),
        }
    }
    out.push(cell);
    out
}

fn write(out: &mut String, cell: &str, comma: bool) {
    if let Some(time) = civil(cell) {
        out.push_str(&if comma { time.replace('.', ",") } else { time });
    } else if record::decimal::parse(cell).is_some() {
        out.push_str(&if comma { cell.replace('.', ",") } else { cell.to_owned() });
    } else {
        let risky = cell.starts_with(['=', '+', '-', '@']);
        let text = if risky { format!("'{cell}") } else { cell.to_owned() };
        if text.contains([',', ';', '"']) {
            out.push_str(&format!("\"{}\"", text.replace('"', "\"\"")));
        } else {
            out.push_str(&text);
        }
    }
}

/// `2026-05-01 14:20:00` of `2026-05-01T14:20:00Z`.
fn civil(cell: &str) -> Option<String> {
    let (day, time) = cell.strip_suffix('Z')?.split_once('T')?;
    let plain = |text: &str| text.bytes().all(|b| b.is_ascii_digit() || b"-:.".contains(&b));
    (day.len() >= 10 && time.len() >= 8 && plain(day) && plain(time))
        .then(|| format!("{day} {time}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: &str = "# figure: series\r\n# a caption, with a comma\r\n\
        time,bx (nT),note\r\n2026-05-01T00:00:00Z,-1.5,\r\n2026-05-01T00:00:30.250Z,2e-7,\"a;b\"\r\n";

    #[test]
    fn the_block_of_provenance_goes_and_a_byte_order_mark_comes() {
        let sheet = spreadsheet(PLAIN, false);
        assert_eq!(
            sheet,
            "\u{feff}time,bx (nT),note\r\n2026-05-01 00:00:00,-1.5,\r\n\
             2026-05-01 00:00:30.250,2e-7,\"a;b\"\r\n"
        );
    }

    #[test]
    fn a_decimal_comma_parts_the_cells_by_semicolons() {
        let sheet = spreadsheet(PLAIN, true);
        assert_eq!(
            sheet,
            "\u{feff}time;bx (nT);note\r\n2026-05-01 00:00:00;-1,5;\r\n\
             2026-05-01 00:00:30,250;2e-7;\"a;b\"\r\n"
        );
    }

    #[test]
    fn a_text_that_looks_like_a_formula_is_kept_a_text() {
        let sheet = spreadsheet("=1+1,@a,\"-say \"\"so\"\", twice\",-2\r\n", false);
        assert_eq!(sheet, "\u{feff}'=1+1,'@a,\"'-say \"\"so\"\", twice\",-2\r\n");
    }

    #[test]
    fn quoted_cells_keep_what_stands_in_them() {
        assert_eq!(cells("a,\"b,c\",,\"d\"\"e\""), ["a", "b,c", "", "d\"e"]);
        assert_eq!(cells("\"\",x"), ["", "x"]);
        assert_eq!(cells(""), [""]);
    }
}
