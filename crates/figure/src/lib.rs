//! Results become plans, and plans become drawings.
