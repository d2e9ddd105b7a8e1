//! Joins ES modules into one plain script.
//!
//! In goes a module and, through its imports, all that it needs; out comes one
//! script that runs where modules do not: from a USB stick, from a server that
//! mistypes them, in a worker made from a text.  Every module becomes a
//! function of its own, called once, after those it imports.
//!
//! This reads the forms that our own modules and the engine's glue keep to,
//! and refuses any other; it is no parser of JavaScript.  What is exported must
//! be a function, a class or a constant, as names are handed over by value.

use super::module::Module;
use crate::halt::Halt;
use std::fmt::Write;
use std::path::{Component, Path, PathBuf};

/// Joins the module at `entry`, a path from `folder`, with all it imports.
pub fn join(folder: &Path, entry: &str) -> Result<String, Halt> {
    let mut joining = Joining { folder, done: Vec::new(), under_way: Vec::new() };
    joining.add(entry)?;
    let mut script = String::from("(() => {\n\"use strict\";\n");
    for (at, (name, module)) in joining.done.iter().enumerate() {
        let place = |from: &str| joining.place(&resolved(name, from));
        // A text always takes what is written into it.
        let _written = writeln!(
            script,
            "const m{at} = (() => {{\n{}}})();",
            module.script(&place).map_err(|words| fault(name, &words))?
        );
    }
    script.push_str("})();\n");
    Ok(script)
}

struct Joining<'a> {
    folder: &'a Path,
    done: Vec<(String, Module)>,
    under_way: Vec<String>,
}

impl Joining<'_> {
    fn add(&mut self, name: &str) -> Result<(), Halt> {
        if self.place(name).is_some() {
            return Ok(());
        }
        if self.under_way.iter().any(|one| one == name) {
            let round = self.under_way.join(", ");
            return Err(fault(name, &format!("imports itself by way of {round}")));
        }
        let path = self.folder.join(name);
        let text = std::fs::read_to_string(&path).map_err(|e| Halt::file(&path, "read", &e))?;
        let module = Module::read(&text).map_err(|words| fault(name, &words))?;
        self.under_way.push(name.to_owned());
        for from in module.needs() {
            self.add(&resolved(name, from))?;
        }
        self.under_way.pop();
        self.done.push((name.to_owned(), module));
        Ok(())
    }

    fn place(&self, name: &str) -> Option<usize> {
        self.done.iter().position(|(done, _)| done == name)
    }
}

fn fault(name: &str, words: &str) -> Halt {
    Halt::new(
        format!("{name} cannot be joined with the other scripts: it {words}."),
        "Keep to the forms that crates/xtask/src/dist/module.rs reads.",
    )
}

/// The path that `from`, as written in the module `name`, stands for.
fn resolved(name: &str, from: &str) -> String {
    let mut path = PathBuf::from(name);
    path.pop();
    for part in Path::new(from).components() {
        match part {
            Component::ParentDir => {
                path.pop();
            }
            Component::Normal(part) => path.push(part),
            _ => {}
        }
    }
    path.to_string_lossy().replace('\\', "/")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joined(files: &[(&str, &str)]) -> Result<String, Halt> {
        let unlike = files.iter().map(|(_, text)| text.len()).sum::<usize>();
        let name = format!("lodelog-join-{}-{}-{unlike}", std::process::id(), files.len());
        let folder = std::env::temp_dir().join(name);
        for (name, text) in files {
            let path = folder.join(name);
            std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            std::fs::write(path, text).expect("written");
        }
        let script = join(&folder, "app/main.js");
        std::fs::remove_dir_all(folder).expect("removed");
        script
    }

    #[test]
    fn a_module_comes_after_those_it_imports_and_once() {
        let script = joined(&[
            ("app/main.js", "import { b } from \"./b.js\";\nimport init, { c as d } from \"../c.js\";\nb(d, init);\n"),
            ("app/b.js", "import { c } from \"../c.js\";\nexport function b() {\n    c();\n}\n"),
            ("c.js", "function start() {}\nexport const c = 1;\nexport { start as default };\n"),
        ])
        .expect("joined");
        assert_eq!(
            script,
            "(() => {\n\"use strict\";\n\
             const m0 = (() => {\nfunction start() {}\nconst c = 1;\nreturn { c, default: start };\n})();\n\
             const m1 = (() => {\nconst { c } = m0;\nfunction b() {\nc();\n}\nreturn { b };\n})();\n\
             const m2 = (() => {\nconst { b } = m1;\nconst { default: init, c: d } = m0;\nb(d, init);\nreturn {  };\n})();\n\
             })();\n"
        );
    }

    #[test]
    fn a_module_imported_later_is_there_from_the_start_and_given_as_promised() {
        let script = joined(&[
            ("app/main.js", "const late = import(\"./b.js\");\n"),
            ("app/b.js", "export const b = 1;\n"),
        ])
        .expect("joined");
        assert!(script.contains("const late = Promise.resolve(m0);"), "{script}");
    }

    #[test]
    fn a_round_of_imports_and_a_missing_file_are_named() {
        let round = joined(&[
            ("app/main.js", "import { b } from \"./b.js\";\nb();\n"),
            ("app/b.js", "import \"./main.js\";\nexport function b() {}\n"),
        ])
        .expect_err("refused");
        assert!(round.message.contains("app/main.js, app/b.js"), "{round}");
        let missing = joined(&[("app/main.js", "import \"./gone.js\";\n")]).expect_err("refused");
        assert!(missing.message.contains("gone.js"), "{missing}");
    }

    #[test]
    fn a_path_is_taken_from_the_module_that_names_it() {
        assert_eq!(resolved("worker/engine.js", "../pkg/page.js"), "pkg/page.js");
        assert_eq!(resolved("app/a.js", "./b.js"), "app/b.js");
    }
}
