//! A small file server for this machine alone: one folder, read only.
//!
//! In goes a folder and a listening socket on 127.0.0.1; out come its files.
//! It never writes, never lists a folder, and never leaves the folder.

use crate::mime;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// The longest request head that is read.
const LONGEST_HEAD: u64 = 16 * 1024;

/// How long a silent visitor is waited for.
const PATIENCE: Duration = Duration::from_secs(10);

/// Serves `folder` until the process ends.
pub fn serve(listener: &TcpListener, folder: &Path) {
    let folder: Arc<Path> = Arc::from(folder);
    for stream in listener.incoming().flatten() {
        let folder = Arc::clone(&folder);
        std::thread::spawn(move || {
            // A visitor who goes away early is nobody's fault and needs no word.
            let _gone = answer(stream, &folder);
        });
    }
}

fn answer(mut stream: TcpStream, folder: &Path) -> std::io::Result<()> {
    stream.set_read_timeout(Some(PATIENCE))?;
    stream.set_write_timeout(Some(PATIENCE))?;
    let line = request_line(&stream)?;
    let reply = reply(&line, folder);
    stream.write_all(reply.head().as_bytes())?;
    if !reply.head_only {
        stream.write_all(&reply.body)?;
    }
    stream.flush()
}

/// The first line of the request; the rest of its head is read and left.
fn request_line(stream: &TcpStream) -> std::io::Result<String> {
    let mut head = BufReader::new(stream.take(LONGEST_HEAD));
    let mut first = String::new();
    head.read_line(&mut first)?;
    let mut line = String::new();
    while head.read_line(&mut line)? > 2 {
        line.clear();
    }
    Ok(first)
}

struct Reply {
    status: &'static str,
    media: &'static str,
    body: Vec<u8>,
    head_only: bool,
}

impl Reply {
    fn words(status: &'static str, words: &str) -> Self {
        let media = "text/plain; charset=utf-8";
        Self { status, media, body: format!("{words}\n").into_bytes(), head_only: false }
    }

    fn head(&self) -> String {
        format!(
            "HTTP/1.1 {}\r\nContent-Type: {}\r\nContent-Length: {}\r\n\
             Cache-Control: no-cache\r\nX-Content-Type-Options: nosniff\r\n\
             Connection: close\r\n\r\n",
            self.status,
            self.media,
            self.body.len()
        )
    }
}

fn reply(line: &str, folder: &Path) -> Reply {
    let mut words = line.split_whitespace();
    let method = words.next().unwrap_or("");
    let target = words.next().unwrap_or("");
    if method != "GET" && method != "HEAD" {
        return Reply::words("405 Method Not Allowed", "Only reading is possible here.");
    }
    let found = path_inside(folder, target);
    let Some((path, body)) = found.and_then(|p| std::fs::read(&p).ok().map(|b| (p, b))) else {
        return Reply::words("404 Not Found", "There is no such file here.");
    };
    Reply { status: "200 OK", media: mime::of(&path), body, head_only: method == "HEAD" }
}

/// The file that a request's target names, when it lies inside the folder.
///
/// A folder stands for its `index.html`.  Links that lead out are refused,
/// as are `..`, backslashes and control characters, plain or in percent form.
fn path_inside(folder: &Path, target: &str) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?.strip_prefix('/')?;
    let path = percent_decoded(path)?;
    let safe = |part: &str| part != ".." && !part.contains(['\\', ':']);
    if path.chars().any(char::is_control) || !path.split('/').all(safe) {
        return None;
    }
    let mut file = folder.to_path_buf();
    file.extend(path.split('/').filter(|part| !part.is_empty()));
    if file.is_dir() {
        file.push("index.html");
    }
    let real = file.canonicalize().ok()?;
    real.starts_with(folder.canonicalize().ok()?).then_some(real)
}

fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = text.bytes();
    let mut out = Vec::with_capacity(text.len());
    while let Some(byte) = bytes.next() {
        if byte == b'%' {
            let digits = [bytes.next()?, bytes.next()?];
            let digits = std::str::from_utf8(&digits).ok()?;
            out.push(u8::from_str_radix(digits, 16).ok()?);
        } else {
            out.push(byte);
        }
    }
    String::from_utf8(out).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("lodelog-{name}-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("site/a b")).expect("made");
        std::fs::write(folder.join("site/index.html"), "<p>here</p>").expect("written");
        std::fs::write(folder.join("site/e.wasm"), [0u8, 1, 2]).expect("written");
        std::fs::write(folder.join("site/a b/x.js"), "1").expect("written");
        std::fs::write(folder.join("secret.txt"), "outside").expect("written");
        folder
    }

    #[test]
    fn a_folder_is_answered_with_its_index_and_a_query_is_left_out() {
        let top = folder("index");
        let found = reply("GET /?v=1#x HTTP/1.1\r\n", &top.join("site"));
        assert_eq!((found.status, found.media), ("200 OK", "text/html; charset=utf-8"));
        assert_eq!(found.body, b"<p>here</p>");
        std::fs::remove_dir_all(top).expect("removed");
    }

    #[test]
    fn wasm_is_served_under_its_own_type_and_a_space_is_decoded() {
        let top = folder("types");
        let found = reply("HEAD /e.wasm HTTP/1.1", &top.join("site"));
        assert_eq!((found.media, found.head_only), ("application/wasm", true));
        assert!(found.head().contains("Content-Length: 3\r\n"));
        assert_eq!(reply("GET /a%20b/x.js HTTP/1.1", &top.join("site")).body, b"1");
        std::fs::remove_dir_all(top).expect("removed");
    }

    #[test]
    fn no_spelling_of_the_way_out_leaves_the_folder() {
        let top = folder("out");
        for target in [
            "/../secret.txt",
            "/%2e%2e/secret.txt",
            "/a%20b/../../secret.txt",
            "/..%5csecret.txt",
            "/..%2fsecret.txt",
            "//../secret.txt",
            "secret.txt",
            "/%00",
            "/%zz",
            "/%",
            "",
        ] {
            let found = reply(&format!("GET {target} HTTP/1.1"), &top.join("site"));
            assert_eq!(found.status, "404 Not Found", "{target}");
        }
        std::fs::remove_dir_all(top).expect("removed");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_out_is_refused() {
        let top = folder("link");
        std::os::unix::fs::symlink(top.join("secret.txt"), top.join("site/l.txt")).expect("linked");
        assert_eq!(reply("GET /l.txt HTTP/1.1", &top.join("site")).status, "404 Not Found");
        std::fs::remove_dir_all(top).expect("removed");
    }

    #[test]
    fn writing_is_refused() {
        let found = reply("POST / HTTP/1.1", Path::new("."));
        assert_eq!(found.status, "405 Method Not Allowed");
    }

    #[test]
    fn a_visitor_over_a_socket_gets_head_and_body() {
        let top = folder("socket");
        let listener = TcpListener::bind("127.0.0.1:0").expect("bound");
        let address = listener.local_addr().expect("address");
        let site = top.join("site");
        std::thread::spawn(move || serve(&listener, &site));
        let mut stream = TcpStream::connect(address).expect("connected");
        stream.write_all(b"GET /e.wasm HTTP/1.1\r\nHost: x\r\n\r\n").expect("sent");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("read");
        assert!(answer.starts_with(b"HTTP/1.1 200 OK\r\n"));
        assert!(answer.ends_with(&[0, 1, 2]));
        std::fs::remove_dir_all(top).expect("removed");
    }
}
