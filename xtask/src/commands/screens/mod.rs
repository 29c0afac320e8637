//! `cargo xtask screens`: pictures of every page and state of the window, taken of the built plugin at work.

mod png;
mod scenes;

use std::fs;
use std::thread::sleep;
use std::time::{Duration, Instant};

use anyhow::{Context, anyhow};
use clap::Args;
use plumbline_hosting::{Bundle, Photo, Window};

use crate::failure::Outcome;
use crate::project::packages;
use crate::project::plugin;
use crate::project::workspace::root;
use crate::window_session::{Tracks, WindowSession};
use scenes::{SCENES, Scene};

/// Where the pictures go.
const FOLDER: &str = "docs/figures";

/// Options of `cargo xtask screens`.
#[derive(Args, Clone, Debug)]
pub struct ScreensOptions {
    /// Only pictures whose name contains this
    only: Option<String>,
}

/// Takes them all, one after the other.
pub fn run(options: ScreensOptions) -> Outcome {
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let demo = Tracks::demo();
    let screen = packages::screen()?;
    // SAFETY: no other thread runs yet: windows begin below.
    unsafe { std::env::set_var("DISPLAY", screen.display()) };
    let folder = root().join(FOLDER);
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let only = options.only.unwrap_or_default();
    for scene in SCENES.iter().filter(|scene| scene.name.contains(&only)) {
        let photo = take(&bundle, &demo, scene).with_context(|| scene.name)?;
        let path = folder.join(format!("{}.png", scene.name));
        let bytes = png::write(&photo, &path)?;
        println!("{}: {} kB", path.display(), bytes.div_ceil(1_000));
    }
    Ok(())
}

/// Sets the scene, plays it, and takes the picture.
fn take(bundle: &Bundle, demo: &Tracks, scene: &Scene) -> anyhow::Result<Photo> {
    let tracks = scene.tracks.of(demo);
    let prepare = |instance: &mut plumbline_hosting::Instance| {
        instance.leave_window(scene.paper, scene.size)?;
        let mut choices = scene.choices.iter();
        choices.try_for_each(|(id, words)| instance.set_text(id, words))
    };
    let mut stage =
        WindowSession::open(bundle, tracks, prepare).map_err(|error| anyhow!("{error}"))?;
    settled(&stage.window)?;
    scene
        .clicks
        .iter()
        .try_for_each(|at| stage.window.click(*at))?;
    // Away from everything that shows when it is pointed at.
    stage.window.point_at((2, 2))?;
    let play = match scene.pace {
        scenes::Pace::Measuring => measure(&mut stage),
        scenes::Pace::Playing => stage.play(Duration::from_secs(12)),
    };
    play.map_err(|error| anyhow!("{error}"))?;
    settled(&stage.window)
}

/// Plays the four bars, faster than they were played and no faster than the analysis can follow.
fn measure(stage: &mut WindowSession) -> Outcome {
    const BLOCKS: u32 = 950;
    const PACE: Duration = Duration::from_millis(2);
    for _ in 0..BLOCKS {
        stage.play_block()?;
        sleep(PACE);
    }
    let found = stage.instance.measurement()?.unwrap_or_default();
    match found.dropped_frames {
        0 => Ok(()),
        lost => Err(anyhow!("{lost} frames were too fast for the analysis").into()),
    }
}

/// Waits until nothing has moved for a while.
fn settled(window: &Window) -> anyhow::Result<Photo> {
    const REST: Duration = Duration::from_millis(400);
    const PATIENCE: Duration = Duration::from_secs(10);
    let begin = Instant::now();
    let (mut last, mut since) = (window.photo()?, Instant::now());
    while since.elapsed() < REST || !last.is_drawn() {
        anyhow::ensure!(begin.elapsed() < PATIENCE, "the window never rests");
        sleep(Duration::from_millis(20));
        let now = window.photo()?;
        if now != last {
            (last, since) = (now, Instant::now());
        }
    }
    Ok(last)
}
