//! Builds, serves, tests and checks the project.
fn main() {}
