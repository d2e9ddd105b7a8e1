//! `replay`: runs a procedure over logs and prints one JSON object.
//!
//! Thin: reads the files, hands them to `procedure::replay`, writes what comes
//! back.  Standard output carries the object and nothing else; what cannot be
//! used ends with code 2 and an object that says why.  The object's form is
//! described where it is made.

use crate::arguments::Arguments;
use procedure::replay::{Outcome, Request, error_json, run};
use record::{Fault, Station};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// How to call it, for remedies.
const USAGE: &str = "Call it as: cargo xtask replay [--auto | PROCEDURE.json] LOG... \
                     [--reference FILE] [--station LAT,LON,HEIGHT_M] [--out DIR]";

/// The code of a procedure or log that cannot be used.
const UNUSABLE: u8 = 2;

/// What the command line asks for.
#[derive(Debug, PartialEq)]
struct Asked {
    /// The procedure's file; none for the one that would be proposed.
    procedure: Option<PathBuf>,
    logs: Vec<PathBuf>,
    reference: Option<PathBuf>,
    station: Option<Station>,
    /// Where tables and figures go; none to write nothing.
    out: Option<PathBuf>,
}

/// Runs the command; always prints exactly one object.
pub fn command(arguments: Arguments) -> ExitCode {
    let result = asked(arguments).and_then(|asked| replayed(&asked));
    let (object, code) = match &result {
        Ok(outcome) => (outcome.json.clone(), ExitCode::SUCCESS),
        Err(fault) => (error_json(fault), ExitCode::from(UNUSABLE)),
    };
    // A reader who has gone away needs no answer.
    match writeln!(std::io::stdout(), "{object}") {
        Ok(()) => code,
        Err(_) => ExitCode::FAILURE,
    }
}

fn asked(mut arguments: Arguments) -> Result<Asked, Fault> {
    let refused = |halt: crate::halt::Halt| Fault::new("replay/arguments", halt.message, USAGE);
    let proposed = arguments.flag("--auto");
    let reference = arguments.value("--reference").map_err(refused)?.map(PathBuf::from);
    let station = arguments.value("--station").map_err(refused)?;
    let out = arguments.value("--out").map_err(refused)?.map(PathBuf::from);
    let mut files = arguments.files().map_err(refused)?.into_iter().map(PathBuf::from);
    let procedure = if proposed { None } else { files.next() };
    let logs: Vec<PathBuf> = files.collect();
    if logs.is_empty() {
        let message = match &procedure {
            Some(file) => format!("There is no log after the procedure {}.", file.display()),
            None => "There is no log to read.".to_owned(),
        };
        return Err(Fault::new("replay/no-log", message, USAGE));
    }
    let station = station.map(|text| place(&text)).transpose()?;
    Ok(Asked { procedure, logs, reference, station, out })
}

/// A station from `LAT,LON,HEIGHT_M`.
fn place(text: &str) -> Result<Station, Fault> {
    let remedy = "Give degrees north, degrees east and metres, such as 57.4,-9.9,24.";
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|part| part.trim().parse()).collect();
    let refused = |why: String| Fault::new("replay/station", why, remedy).at("--station");
    match numbers.as_deref() {
        Ok([latitude, longitude, height]) => Station::new("", *latitude, *longitude, *height)
            .map_err(|error| refused(error.to_string())),
        _ => Err(refused(format!("`{text}` is not three numbers with commas between them."))),
    }
}

fn replayed(asked: &Asked) -> Result<Outcome, Fault> {
    let request = Request {
        files: asked.logs.iter().map(|path| named(path)).collect::<Result<_, _>>()?,
        reference: asked.reference.as_deref().map(named).transpose()?,
        procedure: asked.procedure.as_deref().map(text).transpose()?,
        station: asked.station.clone(),
        write: asked.out.is_some(),
    };
    let outcome = run(&request)?;
    if let Some(folder) = &asked.out {
        write(folder, &outcome.files)?;
    }
    Ok(outcome)
}

/// A file's name, without its folders, and its bytes.
fn named(path: &Path) -> Result<(String, Vec<u8>), Fault> {
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    Ok((name, bytes(path)?))
}

fn bytes(path: &Path) -> Result<Vec<u8>, Fault> {
    std::fs::read(path).map_err(|error| {
        let message = format!("{} cannot be read: {error}.", path.display());
        Fault::new("replay/file", message, "Check the file's name and that it may be read.")
    })
}

fn text(path: &Path) -> Result<String, Fault> {
    String::from_utf8(bytes(path)?).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let message = format!("{} is not text: byte {at} is no UTF-8.", path.display());
        Fault::new("replay/procedure-not-text", message, "Give the procedure file as it was saved.")
    })
}

fn write(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Fault> {
    let failed = |path: &Path, error: &std::io::Error| {
        let message = format!("{} cannot be written: {error}.", path.display());
        Fault::new("replay/out", message, "Choose another folder with --out.")
    };
    std::fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
    for (name, content) in files {
        // Only the last part of a name: nothing is written outside the folder.
        let path = folder.join(Path::new(name).file_name().unwrap_or_default());
        std::fs::write(&path, content).map_err(|error| failed(&path, &error))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn given(text: &str) -> Result<Asked, Fault> {
        asked(Arguments::new(text.split_whitespace().map(str::to_owned)))
    }

    #[test]
    fn the_first_file_is_the_procedure_unless_one_is_proposed() {
        let asked = given("p.json a.csv b.csv --out there").expect("asked");
        assert_eq!(asked.procedure, Some("p.json".into()));
        assert_eq!(asked.logs, [PathBuf::from("a.csv"), PathBuf::from("b.csv")]);
        assert_eq!(asked.out, Some("there".into()));
        let asked = given("--auto a.csv --reference r.min").expect("asked");
        assert_eq!(asked.procedure, None);
        assert_eq!(asked.logs, [PathBuf::from("a.csv")]);
        assert_eq!(asked.reference, Some("r.min".into()));
    }

    #[test]
    fn a_station_is_three_numbers_with_the_height_in_metres() {
        let asked = given("--auto a.csv --station 57.4,-9.9,24").expect("asked");
        assert_eq!(asked.station, Station::new("", 57.4, -9.9, 24.0).ok());
        for text in ["57.4,-9.9", "57,4,-9,9,24", "north,0,0", "91,0,0", "nan,0,0", ""] {
            let fault = place(text).expect_err(text);
            assert_eq!(fault.code, "replay/station", "{text}");
        }
    }

    #[test]
    fn a_call_without_a_log_or_with_an_unknown_word_is_refused_with_its_usage() {
        for (text, code) in [
            ("", "replay/no-log"),
            ("--auto", "replay/no-log"),
            ("p.json", "replay/no-log"),
            ("--auto a.csv --outt x", "replay/arguments"),
            ("--auto a.csv --out", "replay/arguments"),
        ] {
            let fault = given(text).expect_err(text);
            assert_eq!((fault.code, fault.remedy.as_str()), (code, USAGE), "{text}");
        }
    }

    #[test]
    fn a_file_that_is_not_there_is_named() {
        let fault = named(Path::new("no-such-log.csv")).expect_err("missing");
        assert_eq!(fault.code, "replay/file");
        assert!(fault.message.contains("no-such-log.csv"));
    }

    #[test]
    fn outputs_stay_in_their_folder_whatever_they_are_called() {
        let top = std::env::temp_dir().join(format!("lodelog-replay-{}", std::process::id()));
        let folder = top.join("out");
        let files = [("../sly.csv".to_owned(), b"1".to_vec()), ("a.svg".to_owned(), b"2".to_vec())];
        write(&folder, &files).expect("written");
        assert!(folder.join("sly.csv").is_file() && folder.join("a.svg").is_file());
        assert!(!top.join("sly.csv").exists());
        std::fs::remove_dir_all(top).expect("removed");
    }
}
