//! The print in a host of either format: nothing while off, the core's own sound while on, its noise, and no click.
//!
//! Called by the test runner; calls the decks' instance of either format and the core's print.
//! [`session`] opens an instance with the tape in its path; the other files are tests by subject.

mod changes;
mod noise;
mod place;
mod session;
