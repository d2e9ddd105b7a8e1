//! One ES module, read just far enough to stand in a joined script.
//!
//! Imports and exports must begin their line; comments that fill lines go, as
//! do type comments inside a line.  Forms that could be misread are refused.

/// A module without its import and export words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Module {
    imports: Vec<Import>,
    /// Modules imported while running.
    later: Vec<String>,
    /// The name outside and the name inside.
    exports: Vec<(String, String)>,
    body: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Import {
    from: String,
    /// What stands left of `= m0;`; empty when only the module's effect is wanted.
    pattern: String,
}

/// What begins a declaration that may be exported.
const DECLARED: [&str; 4] = ["function ", "async function ", "class ", "const "];

/// How an import while running begins.
const LATER: &str = "import(\"";

impl Module {
    /// Reads a module; the error says what it does that is not understood.
    pub fn read(text: &str) -> Result<Self, String> {
        let plain = without_comments(text)?;
        let mut module = Self::default();
        let mut lines = plain.lines();
        while let Some(line) = lines.next() {
            if let Some(rest) = line.strip_prefix("import ") {
                let statement = to_semicolon(rest, &mut lines)?;
                module.imports.push(import(&statement)?);
            } else if let Some(rest) = line.strip_prefix("export {") {
                let list = to_semicolon(rest, &mut lines)?;
                module.export_list(&list)?;
            } else if let Some(rest) = line.strip_prefix("export ") {
                module.exports.push(declared(rest)?);
                module.push(rest);
            } else {
                module.push(line);
            }
        }
        module.look_for_later()?;
        module.check_exports(&plain)?;
        Ok(module)
    }

    // No text goes over several lines, so blanks at a line's ends mean nothing.
    fn push(&mut self, line: &str) {
        self.body.push_str(line.trim());
        self.body.push('\n');
    }

    fn export_list(&mut self, list: &str) -> Result<(), String> {
        let names = list.strip_suffix('}').ok_or("exports from another module")?;
        for (inside, outside) in pairs(names)? {
            self.exports.push((outside, inside));
        }
        Ok(())
    }

    fn look_for_later(&mut self) -> Result<(), String> {
        if self.body.contains("import.meta") {
            return Err("asks for its own address (`import.meta`)".into());
        }
        if self.body.matches("import(").count() != self.body.matches(LATER).count() {
            return Err("imports a module whose name it works out".into());
        }
        for part in self.body.split(LATER).skip(1) {
            let (name, _) = part.split_once("\")").ok_or("imports with options")?;
            self.later.push(name.to_owned());
        }
        Ok(())
    }

    fn check_exports(&self, plain: &str) -> Result<(), String> {
        let at_top = |line: &str| declared(line.strip_prefix("export ").unwrap_or(line));
        let is_declared = |name: &str| {
            plain.lines().any(|line| at_top(line).is_ok_and(|(_, found)| found == name))
        };
        match self.exports.iter().find(|(_, inside)| !is_declared(inside)) {
            None => Ok(()),
            Some((_, inside)) => {
                Err(format!("exports `{inside}`, no function, class or constant at its top"))
            }
        }
    }

    /// The modules it needs, as it names them.
    pub fn needs(&self) -> impl Iterator<Item = &str> {
        self.imports
            .iter()
            .map(|one| one.from.as_str())
            .chain(self.later.iter().map(String::as_str))
    }

    /// The inside of its function; `place` gives a module's number by its name.
    pub fn script(&self, place: &dyn Fn(&str) -> Option<usize>) -> Result<String, String> {
        let number = |from: &str| place(from).ok_or_else(|| format!("needs {from}, not joined"));
        let mut script = String::new();
        for Import { from, pattern } in self.imports.iter().filter(|one| !one.pattern.is_empty()) {
            script.push_str(&format!("const {pattern} = m{};\n", number(from)?));
        }
        let mut body = self.body.clone();
        for from in &self.later {
            let with = format!("Promise.resolve(m{})", number(from)?);
            body = body.replace(&format!("{LATER}{from}\")"), &with);
        }
        script.push_str(&body);
        let named = |(outside, inside): &(String, String)| match outside == inside {
            true => outside.clone(),
            false => format!("{outside}: {inside}"),
        };
        let names: Vec<String> = self.exports.iter().map(named).collect();
        script.push_str(&format!("return {{ {} }};\n", names.join(", ")));
        Ok(script)
    }
}

/// A statement up to its semicolon, over as many lines as it takes.
fn to_semicolon<'a>(
    first: &str,
    lines: &mut impl Iterator<Item = &'a str>,
) -> Result<String, String> {
    let mut statement = first.trim().to_owned();
    while !statement.ends_with(';') {
        let next = lines.next().ok_or("leaves an import or export open")?;
        statement.push(' ');
        statement.push_str(next.trim());
    }
    Ok(statement.trim_end_matches(';').trim().to_owned())
}

/// What follows the word `import`.
fn import(statement: &str) -> Result<Import, String> {
    let (what, from) = match statement.rsplit_once(" from ") {
        Some((what, from)) => (what.trim(), from),
        None => ("", statement),
    };
    let from = from
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .filter(|name| name.starts_with('.'))
        .ok_or_else(|| format!("imports {from}"))?;
    let pattern = match (what, what.strip_prefix("* as ")) {
        ("", _) => String::new(),
        (_, Some(name)) => name.to_owned(),
        _ => pattern(what)?,
    };
    Ok(Import { from: from.to_owned(), pattern })
}

/// `init, { a, b as c }` as what takes an object apart.
fn pattern(what: &str) -> Result<String, String> {
    let (default, list) = match what.split_once('{') {
        Some((default, list)) => (default.trim().trim_end_matches(',').trim(), Some(list)),
        None => (what, None),
    };
    let mut parts = Vec::new();
    if !default.is_empty() {
        parts.push(format!("default: {}", identifier(default)?));
    }
    let names = list.map(|l| l.trim().strip_suffix('}').ok_or("imports in a form of its own"));
    for (outside, inside) in pairs(names.transpose()?.unwrap_or(""))? {
        parts.push(if outside == inside { inside } else { format!("{outside}: {inside}") });
    }
    Ok(format!("{{ {} }}", parts.join(", ")))
}

/// `a, b as c` as pairs: `(a, a)`, `(b, c)`.
fn pairs(list: &str) -> Result<Vec<(String, String)>, String> {
    let parts = list.split(',').map(str::trim).filter(|part| !part.is_empty());
    let pair = |part: &str| {
        let (left, right) = part.split_once(" as ").unwrap_or((part, part));
        Ok((identifier(left)?, identifier(right)?))
    };
    parts.map(pair).collect()
}

fn identifier(word: &str) -> Result<String, String> {
    let fits = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '$';
    let word = word.trim();
    let is_name = word.chars().all(fits) && !word.is_empty();
    if is_name { Ok(word.to_owned()) } else { Err(format!("has `{word}` where a name belongs")) }
}

/// The name that a line declares, outside and inside.
fn declared(line: &str) -> Result<(String, String), String> {
    let refused = || format!("exports `{}`", line.trim());
    let rest = DECLARED.iter().find_map(|word| line.strip_prefix(word)).ok_or_else(refused)?;
    let end = rest.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '$'));
    let name = identifier(&rest[..end.unwrap_or(rest.len())]).map_err(|_| refused())?;
    Ok((name.clone(), name))
}

/// The text without comments that fill lines, and without `/** … */` anywhere.
pub fn without_comments(text: &str) -> Result<String, String> {
    let mut plain = String::new();
    let mut inside = false;
    for line in text.lines() {
        let mut rest = line;
        let mut kept = String::new();
        loop {
            if inside {
                let Some((_, after)) = rest.split_once("*/") else { break };
                inside = false;
                rest = after;
            }
            let opening = if kept.trim().is_empty() && rest.trim_start().starts_with("/*") {
                rest.find("/*")
            } else {
                rest.find("/**")
            };
            let Some(at) = opening else {
                kept.push_str(rest);
                break;
            };
            kept.push_str(&rest[..at]);
            if kept.matches('"').count() % 2 == 1 {
                return Err("has a comment's beginning inside a text".into());
            }
            rest = &rest[at + 2..];
            inside = true;
        }
        let kept = kept.trim_end();
        if kept.matches('`').count() % 2 == 1 {
            return Err("has a template literal over several lines".into());
        }
        if !(kept.trim().is_empty() || kept.trim_start().starts_with("//")) {
            plain.push_str(kept);
            plain.push('\n');
        }
    }
    if inside { Err("leaves a comment open".into()) } else { Ok(plain) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn script(text: &str) -> Result<String, String> {
        Module::read(text)?.script(&|_| Some(7))
    }

    #[test]
    fn every_form_of_import_is_taken_apart() {
        for (text, wanted) in [
            ("import { a } from \"./a.js\";", "const { a } = m7;\n"),
            ("import { a, b as c } from \"./a.js\";", "const { a, b: c } = m7;\n"),
            ("import {\n    a,\n    b,\n} from \"./a.js\";", "const { a, b } = m7;\n"),
            ("import a from \"./a.js\";", "const { default: a } = m7;\n"),
            ("import a, { b } from \"./a.js\";", "const { default: a, b } = m7;\n"),
            ("import * as a from \"./a.js\";", "const a = m7;\n"),
            ("import \"./a.js\";", ""),
        ] {
            assert_eq!(script(text), Ok(format!("{wanted}return {{  }};\n")), "{text}");
        }
    }

    #[test]
    fn every_form_of_export_is_handed_over() {
        for (text, wanted) in [
            ("export function a() {}", "function a() {}\nreturn { a };\n"),
            ("export async function a() {}", "async function a() {}\nreturn { a };\n"),
            ("export class A {}", "class A {}\nreturn { A };\n"),
            ("export const A = 1;", "const A = 1;\nreturn { A };\n"),
            ("class A {}\nexport { A as B };", "class A {}\nreturn { B: A };\n"),
            ("export {};", "return {  };\n"),
        ] {
            assert_eq!(script(text).as_deref(), Ok(wanted), "{text}");
        }
    }

    #[test]
    fn a_form_that_could_be_misread_is_refused() {
        for text in [
            "export let a = 1;",
            "export default function a() {}",
            "export * from \"./a.js\";",
            "export { a } from \"./a.js\";",
            "let a = 1;\nexport { a };",
            "export const { a, b } = c;",
            "import { a } from \"library\";",
            "import(name);",
            "const x = import(`./a.js`);",
            "const here = import.meta.url;",
            "const text = `one\ntwo`;",
            "const text = \"a /** b\";",
            "/* never closed",
            "import { a } from \"./a.js\"",
        ] {
            assert!(script(text).is_err(), "{text}");
        }
    }

    #[test]
    fn comments_go_and_code_beside_them_stays() {
        let text = "/* What it is. */\n/**\n * @param {import(\"./b.js\").B} b\n */\n// Why.\n\
                    const a = /** @type {import(\"./c.js\").C} */ (1); // one\n\
                    const url = \"a//b\";\n    /* inside */ const d = 2 /* two */;\n";
        let wanted = "const a =  (1); // one\nconst url = \"a//b\";\nconst d = 2 /* two */;\n\
                      return {  };\n";
        assert_eq!(script(text).as_deref(), Ok(wanted));
    }

    #[test]
    fn words_inside_the_code_are_left_alone() {
        let text = "const a = {\n    import: 1,\n    export: 2,\n};\n";
        let wanted = "const a = {\nimport: 1,\nexport: 2,\n};\nreturn {  };\n";
        assert_eq!(script(text).as_deref(), Ok(wanted));
    }
}
