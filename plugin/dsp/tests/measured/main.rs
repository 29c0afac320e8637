//! Stimulus and table of limits, one file a subject.
