//! `cargo xtask align`: the plugin on the user's own files.
//!
//! Measures the take, corrects it, writes the files that were asked for, and answers in words or as one JSON object.
//! The work is `alignment`'s, the recall sheet `sheet`'s; here stand the options, the order of work and the answer.

mod answer;
mod options;

use plumbline_hosting::Bundle;

use crate::alignment::{align, measure};
use crate::audio::Take;
use crate::failure::Outcome;
use crate::project::plugin;
use crate::sheet::{Extras, write_recall_sheet};
pub use answer::Answer;
pub use options::AlignOptions;

/// Measures, corrects, writes, answers.
///
/// # Errors
///
/// When the files or options cannot be worked with, or the work fails.
pub fn run(options: &AlignOptions) -> Outcome {
    let files = options.files();
    let range = options.range()?;
    let settings = options.settings()?;
    let take = Take::open(&files)?;
    let paths = options.claim(&files, &settings)?;
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let measured = measure(&bundle, &files, range, &settings)?;
    let outputs = options.outputs(&take, &paths, &settings)?;
    let rate = take.sample_rate();
    let mut aligned = align(&bundle, files, settings, measured, outputs, rate)?;
    if let (true, Some(path)) = (options.report, paths.last()) {
        write_recall_sheet(&aligned, path, Extras::default())?;
        aligned.written.push(path.clone());
    }
    let answer = Answer::of(&aligned);
    if options.json {
        println!("{}", serde_json::to_string_pretty(&answer)?);
    } else {
        print!("{}", answer.words(&aligned));
    }
    Ok(())
}
