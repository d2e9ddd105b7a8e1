//! The words after a command's name, taken one by one so that none is ignored.

use crate::halt::Halt;

/// What is left of the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arguments {
    words: Vec<String>,
}

impl Arguments {
    /// From the words after the command's name.
    pub fn new(words: impl IntoIterator<Item = String>) -> Self {
        Self { words: words.into_iter().collect() }
    }

    /// Takes a flag; tells whether it was there.
    pub fn flag(&mut self, name: &str) -> bool {
        let before = self.words.len();
        self.words.retain(|word| word != name);
        self.words.len() < before
    }

    /// Takes an option with its value.
    pub fn value(&mut self, name: &str) -> Result<Option<String>, Halt> {
        let Some(at) = self.words.iter().position(|word| word == name) else { return Ok(None) };
        self.words.remove(at);
        if at >= self.words.len() {
            return Err(Halt::new(format!("{name} needs a value after it."), ""));
        }
        let value = self.words.remove(at);
        if self.words.iter().any(|word| word == name) {
            return Err(Halt::new(format!("{name} is given twice."), "Give it once."));
        }
        Ok(Some(value))
    }

    /// Takes everything that is left as file names; refuses options.
    pub fn files(self) -> Result<Vec<String>, Halt> {
        match self.words.iter().find(|word| word.starts_with("--")) {
            Some(word) => Err(unknown(word)),
            None => Ok(self.words),
        }
    }

    /// All words as they stand, to be handed on.
    pub fn files_and_options(self) -> Vec<String> {
        self.words
    }

    /// Refuses whatever is left.
    pub fn nothing_left(self) -> Result<(), Halt> {
        self.words.first().map_or(Ok(()), |word| Err(unknown(word)))
    }
}

fn unknown(word: &str) -> Halt {
    Halt::new(format!("This command does not know `{word}`."), "`cargo xtask` lists what it knows.")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn given(text: &str) -> Arguments {
        Arguments::new(text.split_whitespace().map(str::to_owned))
    }

    #[test]
    fn flags_and_values_are_taken_in_any_order() {
        let mut words = given("a.csv --out there --auto b.csv");
        assert!(words.flag("--auto"));
        assert!(!words.flag("--auto"));
        assert_eq!(words.value("--out").as_ref().map(Option::as_deref), Ok(Some("there")));
        assert_eq!(words.files(), Ok(vec!["a.csv".to_owned(), "b.csv".to_owned()]));
    }

    #[test]
    fn a_value_that_is_missing_or_doubled_is_refused() {
        assert!(given("--port").value("--port").is_err());
        assert!(given("--port 1 --port 2").value("--port").is_err());
        assert_eq!(given("").value("--port"), Ok(None));
    }

    #[test]
    fn a_word_nobody_took_is_named() {
        let halt = given("--prot 1").nothing_left().expect_err("left");
        assert!(halt.message.contains("--prot"));
        assert!(given("x --fast").files().is_err());
    }
}
