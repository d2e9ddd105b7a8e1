//! The shared tasks, on one machine in one run: peers, native, Chromium.
//!
//! `BENCH_DATA` names the folder of the inputs, which are made when they are
//! missing (0.4 GB); `BENCH_PYTHON` names a Python with the packages that the
//! shared folder's `requirements.txt` lists.

use super::compare::{Side, table};
use crate::engine::{self, Build};
use crate::halt::Halt;
use crate::setup::{browsers, node};
use crate::{run, server};
use bench::{Inputs, Task, tasks};
use serde_json::{Value, json};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// Runs all sides and prints the table.
pub fn print(root: &Path, only: Option<&str>, runs: u32) -> Result<(), Halt> {
    let scripts = root.join("../shared/bench");
    if !scripts.join("peers.py").is_file() {
        return Err(Halt::new(
            "The shared tasks are not there: ../shared/bench holds no peers.py.",
            "Put the shared folder beside the project, or measure with --own.",
        ));
    }
    let data = data_folder(root)?;
    let chosen: Vec<&Task> = tasks().into_iter().filter(|t| wanted(t.name, only)).collect();
    if !data.join("manifest.json").is_file() {
        run::shown(python(&data).arg(scripts.join("make_inputs.py")))?;
    }
    let mut peers = peers(&scripts, &data, &chosen, runs)?;
    let mut native = natively(&data, &chosen, runs)?;
    // Minutes of measuring are not thrown away for want of a browser.
    let mut wasm = in_chromium(root, &data, &chosen, runs).unwrap_or_else(|halt| {
        eprintln!("{halt}");
        Vec::new()
    });
    for side in [&mut peers, &mut native, &mut wasm] {
        side.retain(|line| line.get("task").is_some());
    }
    let figures = std::fs::read_to_string(data.join("results-peers.json")).unwrap_or_default();
    let figures: Value = serde_json::from_str(&figures).unwrap_or_default();
    let names: Vec<&str> = chosen.iter().map(|t| t.name).collect();
    print!("{}", table(&names, &Side { peers, native, wasm, figures: figures["results"].clone() }));
    Ok(())
}

/// `only` is a list of beginnings of names, with commas.
fn wanted(name: &str, only: Option<&str>) -> bool {
    only.is_none_or(|list| list.split(',').any(|start| name.starts_with(start.trim())))
}

fn data_folder(root: &Path) -> Result<PathBuf, Halt> {
    let folder = std::env::var_os("BENCH_DATA")
        .map_or_else(|| root.join("target/bench-data"), PathBuf::from);
    std::fs::create_dir_all(&folder).map_err(|error| Halt::file(&folder, "made", &error))?;
    Ok(folder)
}

fn python(data: &Path) -> Command {
    let program = std::env::var_os("BENCH_PYTHON").unwrap_or_else(|| "python3".into());
    let mut command = Command::new(program);
    command.env("BENCH_DATA", data);
    command
}

/// The lines of JSON that a command prints; its messages are shown.
fn lines_of(command: &mut Command) -> Result<Vec<Value>, Halt> {
    let name = run::spelled(command);
    eprintln!("  $ {name}");
    let out = command.stdin(Stdio::null()).stderr(Stdio::inherit()).output();
    let out = out.map_err(|error| Halt::new(format!("`{name}` did not start: {error}."), ""))?;
    let text = String::from_utf8_lossy(&out.stdout);
    let lines: Vec<Value> = text.lines().filter_map(|l| serde_json::from_str(l).ok()).collect();
    if lines.is_empty() {
        return Err(Halt::new(
            format!("`{name}` measured nothing ({}).", out.status),
            "BENCH_PYTHON must name a Python with the packages of the shared requirements.txt.",
        ));
    }
    Ok(lines)
}

fn peers(scripts: &Path, data: &Path, chosen: &[&Task], runs: u32) -> Result<Vec<Value>, Halt> {
    let names: Vec<&str> = chosen.iter().map(|t| t.name).collect();
    let mut command = python(data);
    command.arg(scripts.join("peers.py"));
    command.args(["--tasks", &format!("^({})$", names.join("|")), "--runs", &runs.to_string()]);
    command.arg("--results").arg(data.join("results-peers.json"));
    // A peer that is not installed fails alone, with its own line.
    lines_of(&mut command)
}

fn natively(data: &Path, chosen: &[&Task], runs: u32) -> Result<Vec<Value>, Halt> {
    let mut inputs = Inputs::default();
    let mut lines = Vec::new();
    for task in chosen {
        inputs.drop_but(task.files);
        for file in task.files.iter().filter(|file| !inputs.holds(file)).collect::<Vec<_>>() {
            let path = data.join(file);
            let bytes = std::fs::read(&path).map_err(|e| Halt::file(&path, "read", &e))?;
            inputs.give(file, &bytes);
        }
        (task.ready)(&mut inputs);
        lines.push(timed(task, &inputs, runs));
    }
    Ok(lines)
}

fn timed(task: &Task, inputs: &Inputs, runs: u32) -> Value {
    let peer = "native";
    // The first run warms up and gives the figures.
    let figures = match (task.run)(inputs) {
        Ok(done) => (task.check)(inputs, &done),
        Err(why) => return json!({ "task": task.name, "peer": peer, "error": why }),
    };
    let mut times: Vec<f64> = (0..runs)
        .map(|_| {
            let begin = Instant::now();
            let done = (task.run)(inputs);
            let took = begin.elapsed().as_secs_f64();
            drop(done);
            took
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let median = times.get(times.len() / 2);
    json!({
        "task": task.name, "peer": peer, "median_s": median, "runs": times.len(),
        "figures": figures,
    })
}

/// The page of the bench stands beside the inputs while it runs.
fn in_chromium(root: &Path, data: &Path, chosen: &[&Task], runs: u32) -> Result<Vec<Value>, Halt> {
    engine::build_of(root, "bench", Build::Dist, &data.join("pkg"))?;
    node::packages(root)?;
    let program = browsers::chromium()?;
    for file in ["index.html", "worker.js"] {
        let from = root.join("tests/page/bench").join(file);
        let to = data.join(file);
        std::fs::copy(&from, &to).map_err(|error| Halt::file(&to, "written", &error))?;
    }
    let listener = TcpListener::bind(("127.0.0.1", 0))
        .map_err(|error| Halt::new(format!("No port can be served: {error}."), ""))?;
    let port = listener.local_addr().map_or(0, |address| address.port());
    let served = data.to_owned();
    std::thread::spawn(move || server::serve(&listener, &served));
    let names: Vec<&str> = chosen.iter().map(|t| t.name).collect();
    let url = format!(
        "http://127.0.0.1:{port}/index.html?runs={runs}&tasks=%5E({})%24",
        names.join("%7C")
    );
    let mut browse = node::command("node", root);
    browse.arg("tests/page/bench/run.mjs").arg(url).current_dir(root).env("CHROMIUM", program);
    lines_of(&mut browse)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tasks_are_chosen_by_the_beginnings_of_their_names() {
        assert!(wanted("welch_4096", Some("butter,welch")));
        assert!(!wanted("coherence_4096", Some("butter, welch")));
        assert!(wanted("anything", None));
    }
}
