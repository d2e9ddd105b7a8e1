//! The invented scenario: seeded logs whose truth is known.
