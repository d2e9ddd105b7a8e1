//! Figures of merit of the windows against their published tables.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail loudly")]

mod common;

use common::rows;
use signal::window::{
    Window, coherent_gain, noise_bandwidth_bins, overlap_correlation, scallop_loss_db,
};

fn window(name: &str) -> Window {
    match name {
        "rectangle" => Window::Rectangle,
        "triangle" => Window::Triangle,
        "cosine" => Window::Cosine,
        "hann" => Window::Hann,
        "cos4" => Window::Cosine4,
        "hamming" => Window::Hamming,
        "riesz" => Window::Riesz,
        "tukey25" => Window::Tukey(0.25),
        "tukey50" => Window::Tukey(0.5),
        "bohman" => Window::Bohman,
        "blackman" => Window::Blackman,
        "bh4" | "bh92" => Window::BlackmanHarris,
        "kb20" => Window::Kaiser(2.0),
        "kb30" => Window::Kaiser(3.0),
        "nuttall4c" => Window::Nuttall4c,
        "hft70" => Window::FlatTop70,
        "hft95" => Window::FlatTop95,
        "hft116d" => Window::FlatTop116d,
        other => panic!("no window is called {other}"),
    }
}

#[test]
fn windows_have_their_published_figures_of_merit() {
    let table = rows(include_str!("figures/windows.csv"));
    assert_eq!(table.len(), 93);
    for row in table.values() {
        let mut words = row.id.split('-').skip(1);
        let w = window(words.next().unwrap()).values(4096);
        let found = match words.next().unwrap() {
            "cg" => coherent_gain(&w),
            "enbw" | "nenbw" => noise_bandwidth_bins(&w),
            "scallop" | "emax" => scallop_loss_db(&w).abs(),
            "wcpl" => scallop_loss_db(&w) + 10.0 * noise_bandwidth_bins(&w).log10(),
            "oc50" => 100.0 * overlap_correlation(&w, 0.5),
            "oc75" => 100.0 * overlap_correlation(&w, 0.75),
            other => panic!("no figure is called {other}"),
        };
        row.check(found);
    }
}
