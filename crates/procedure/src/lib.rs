//! Typed steps, the engine that runs them, and everything that is written from them.
