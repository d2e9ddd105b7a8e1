//! Functions stay short: 60 lines at most, unless they say why.
//!
//! Rust files are parsed, so that the length is the body's, braces included;
//! scripts are measured by the page's own lint.

use super::{Finding, Kept};
use syn::visit::{self, Visit};

/// The most lines of a body, with its braces.
const MOST_LINES: usize = 60;

/// What a longer function says in the comment right above it.
const REASON: &str = "// long:";

/// Finds long functions, and Rust files that cannot be parsed.
pub fn check(file: &Kept) -> Vec<Finding> {
    let (Some(text), "rs") = (&file.text, file.ending()) else { return Vec::new() };
    let parsed = match syn::parse_file(text) {
        Ok(parsed) => parsed,
        Err(error) => {
            let line = error.span().start().line;
            return vec![Finding::new(&file.path, line, format!("cannot be parsed: {error}"))];
        }
    };
    let mut bodies = Bodies { found: Vec::new() };
    bodies.visit_file(&parsed);
    let lines: Vec<&str> = text.lines().collect();
    let long = bodies.found.into_iter().filter(|b| b.lines > MOST_LINES);
    long.filter(|body| !says_why(&lines, body.first_line))
        .map(|body| {
            let words = format!(
                "`{}` has {} lines; {MOST_LINES} is the most, or say `{REASON} reason` above it",
                body.name, body.lines
            );
            Finding::new(&file.path, body.first_line, words)
        })
        .collect()
}

/// Whether the comments and attributes right above a line hold a reason.
fn says_why(lines: &[&str], first_line: usize) -> bool {
    let above = lines.iter().take(first_line.saturating_sub(1)).rev().map(|line| line.trim());
    above
        .take_while(|line| line.starts_with("//") || line.starts_with("#["))
        .chain(lines.get(first_line.saturating_sub(1)).map(|line| line.trim()))
        .any(|line| line.strip_prefix(REASON).is_some_and(|reason| !reason.trim().is_empty()))
}

struct Body {
    name: String,
    /// The line of the `fn`, from 1.
    first_line: usize,
    lines: usize,
}

struct Bodies {
    found: Vec<Body>,
}

impl Bodies {
    fn add(&mut self, signature: &syn::Signature, block: &syn::Block) {
        let lines = lines_of(block);
        let first_line = signature.fn_token.span.start().line;
        self.found.push(Body { name: signature.ident.to_string(), first_line, lines });
    }
}

fn lines_of(block: &syn::Block) -> usize {
    let braces = block.brace_token.span;
    braces.close().end().line.saturating_sub(braces.open().start().line) + 1
}

impl<'ast> Visit<'ast> for Bodies {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.add(&item.sig, &item.block);
        visit::visit_item_fn(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.add(&item.sig, &item.block);
        visit::visit_impl_item_fn(self, item);
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.add(&item.sig, block);
        }
        visit::visit_trait_item_fn(self, item);
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::kept_file;
    use super::*;

    fn found(text: &str) -> Vec<(usize, String)> {
        let found = check(&kept_file("a.rs", text));
        found.into_iter().map(|f| (f.line, f.words)).collect()
    }

    fn body(lines: usize) -> String {
        format!("{{\n{}}}\n", "    let _a = 1;\n".repeat(lines - 2))
    }

    #[test]
    fn a_function_of_61_lines_is_found_and_one_of_60_is_not() {
        let long = found(&format!("fn short() {{}}\nfn f() {}", body(61)));
        assert_eq!((long.len(), long[0].0), (1, 2));
        assert!(long[0].1.contains("`f` has 61 lines"));
        assert_eq!(found(&format!("fn f() {}", body(60))), []);
    }

    #[test]
    fn methods_and_functions_in_tests_are_measured_too() {
        let text = format!("impl A {{ fn f() {} }}\nmod m {{ fn g() {} }}\n", body(70), body(70));
        assert_eq!(found(&text).len(), 2);
    }

    #[test]
    fn a_reason_above_is_accepted_and_an_empty_one_is_not() {
        let with = |note: &str| found(&format!("{note}\n#[inline]\nfn f() {}", body(61))).len();
        assert_eq!(with("// long: a table of cases"), 0);
        assert_eq!(with("/// Docs.\n// long: a table of cases"), 0);
        assert_eq!(with("// long:"), 1);
        assert_eq!(with("// long: a table\n"), 1);
    }

    #[test]
    fn a_file_that_cannot_be_parsed_is_found_at_its_line() {
        let broken = found("//! A.\nfn f( {}\n");
        assert_eq!((broken.len(), broken[0].0), (1, 2));
    }
}
