//! Bytes of a log become a record, with a report of every decision taken.
