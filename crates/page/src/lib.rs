//! The boundary between the page and the engine: converts, computes nothing.
