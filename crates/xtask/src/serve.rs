//! `serve`: builds the page and serves it on this machine.

use crate::halt::Halt;
use crate::{arguments::Arguments, dist, engine, server};
use std::net::TcpListener;
use std::path::Path;

/// The port, unless another is asked for.
const PORT: u16 = 8417;

/// Builds what is needed, then serves until stopped.
pub fn command(root: &Path, mut arguments: Arguments) -> Result<(), Halt> {
    let port = arguments.value("--port")?;
    let port = match port {
        None => PORT,
        Some(text) => text.parse().map_err(|_| {
            Halt::new(format!("--port {text} is not a port."), "Give a number from 1 to 65535.")
        })?,
    };
    let published = arguments.flag("--dist");
    arguments.nothing_left()?;
    // The port is taken first: nobody waits for a build that cannot be served.
    let listener = TcpListener::bind(("127.0.0.1", port)).map_err(|error| {
        Halt::new(
            format!("Port {port} cannot be used: {error}."),
            "Is the page being served already? Choose another with --port.",
        )
    })?;
    let folder = if published {
        dist::build(root)?.folder
    } else {
        let www = root.join("www");
        engine::build(root, engine::Build::Serve, &www.join("pkg"))?;
        www
    };
    println!("{}", address(listener.local_addr().map_or(port, |a| a.port())));
    server::serve(&listener, &folder);
    Ok(())
}

fn address(port: u16) -> String {
    format!("http://127.0.0.1:{port}/#demo")
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_address_printed_is_the_one_that_opens_the_demo() {
        assert_eq!(super::address(super::PORT), "http://127.0.0.1:8417/#demo");
    }
}
