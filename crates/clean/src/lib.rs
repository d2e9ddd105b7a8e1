//! One repair a file: each returns marks and counts and deletes nothing.
