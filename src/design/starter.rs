//! The starter file that `new` writes.
