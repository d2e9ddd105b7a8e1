//! Figures from elsewhere, read from the tables beside the tests.

/// Rows of a comma-separated table with `#` comments; the first row names the columns.
pub struct Table {
    names: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub fn read(text: &str) -> Self {
        let mut lines = text.lines().filter(|line| !line.starts_with('#')).map(cells);
        let names = lines.next().unwrap();
        Self { names, rows: lines.collect() }
    }

    pub fn text<'a>(&self, row: &'a [String], name: &str) -> &'a str {
        &row[self.names.iter().position(|other| other == name).unwrap()]
    }

    pub fn number(&self, row: &[String], name: &str) -> f64 {
        self.text(row, name).parse().unwrap()
    }
}

fn cells(line: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            c => out.last_mut().unwrap().push(c),
        }
    }
    out
}

/// The numbers in a text, whatever stands between them.
pub fn numbers(text: &str) -> Vec<f64> {
    text.split([' ', ';']).filter_map(|part| part.parse().ok()).collect()
}

/// The number after `name=` in a text.
pub fn after(text: &str, name: &str) -> f64 {
    let key = format!("{name}=");
    let at = if text.starts_with(&key) {
        0
    } else {
        text.find(&format!(" {key}")).map_or_else(|| panic!("{name} in {text}"), |at| at + 1)
    };
    let rest = &text[at + key.len()..];
    let end = rest.find(|c: char| !(c.is_ascii_digit() || ".-+e".contains(c)));
    rest[..end.unwrap_or(rest.len())].parse().unwrap()
}

/// Whether a value holds to a tolerance such as `abs 1e-6`, `rel 1e-9` or `exact`.
pub fn holds(got: f64, want: f64, tolerance: &str) -> bool {
    let size: Vec<&str> = tolerance.split(' ').collect();
    let off = (got - want).abs();
    match size[0] {
        "abs" => off <= size[1].trim_end_matches(',').parse::<f64>().unwrap(),
        "rel" => off <= size[1].parse::<f64>().unwrap() * want.abs(),
        // Exact in decimal: what binary rounding leaves.
        _ => off <= 1e-12 * want.abs().max(1.0),
    }
}
