//! `cargo xtask screens`: pictures of every page and state of the window, taken of the built plugin at work.
//!
//! Each picture is a row of `scenes`; the window is driven through `window_session` on a virtual screen, and written as a
//! small PNG. Called by hand after a change of how a page looks; writes docs/figures and nothing else.

mod png;
mod scene;
mod scenes;
mod take;

use std::fs;
use std::thread::sleep;
use std::time::{Duration, Instant};

use anyhow::{Context, anyhow};
use clap::Args;
use plumbline_hosting::{Bundle, Screenshot, Window};

use crate::failure::Outcome;
use crate::project::packages;
use crate::project::plugin;
use crate::project::workspace::{Metadata, root};
use crate::window_session::{Tracks, WindowSession};
use scene::{PLAYED, Pace, Place, SMALLEST, Scene, Step, USUAL};
use scenes::SCENES;

/// Magnifications of `--scales`.
const SCALES: [f32; 3] = [1.0, 2.0, 3.0];

/// Where the pictures go.
const FOLDER: &str = "docs/figures";

/// Options of `cargo xtask screens`.
#[derive(Args, Clone, Debug)]
pub struct ScreensOptions {
    /// Only pictures whose name contains this
    only: Option<String>,
    /// Every page in its smallest window at 100, 200 and 300 %, into target/screens
    #[arg(long)]
    scales: bool,
}

/// Takes them all, one after the other.
pub fn run(options: ScreensOptions) -> Outcome {
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let demo = Tracks::demo();
    let screen = packages::screen()?;
    // SAFETY: no other thread runs yet: windows begin below.
    unsafe { std::env::set_var("DISPLAY", screen.display()) };
    let (folder, zooms) = match options.scales {
        true => (Metadata::read()?.target_dir().join("screens"), &SCALES[..]),
        false => (root().join(FOLDER), &[1.0][..]),
    };
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let only = options.only.unwrap_or_default();
    let wanted = |scene: &&Scene| {
        scene.name.contains(&only) && (!options.scales || scene.name.ends_with(SMALLEST))
    };
    for scene in SCENES.iter().filter(wanted) {
        for zoom in zooms {
            let screenshot = take(&bundle, &demo, scene, *zoom).with_context(|| scene.name)?;
            let name = match options.scales {
                true => format!("{}-{:.0}.png", scene.name, 100.0 * zoom),
                false => format!("{}.png", scene.name),
            };
            let path = folder.join(name);
            let bytes = png::write(&screenshot, &path)?;
            println!("{}: {} kB", path.display(), bytes.div_ceil(1_000));
        }
    }
    Ok(())
}

/// Sets the scene, plays it, and takes the picture.
fn take(bundle: &Bundle, demo: &Tracks, scene: &Scene, zoom: f32) -> anyhow::Result<Screenshot> {
    let tracks = scene.take.of(demo);
    let prepare = |instance: &mut plumbline_hosting::Instance| {
        instance.set_window_state(scene.paper, scene.size, zoom)?;
        let mut choices = scene.choices.iter();
        choices.try_for_each(|(id, words)| instance.set_text(id, words))
    };
    let mut session =
        WindowSession::open(bundle, tracks, prepare).map_err(|error| anyhow!("{error}"))?;
    settled(&session.window)?;
    steps(&mut session, scene.before, zoom)?;
    // A frame that sees the button let go and the pointer elsewhere already takes no click.
    settled(&session.window)?;
    // Away from everything that shows when it is pointed at.
    session.window.point_at(NOWHERE)?;
    match scene.pace {
        Pace::Measuring => measure(&mut session, BARS),
        Pace::Playing => session.play(PLAYED),
    }
    .map_err(|error| anyhow!("{error}"))?;
    settled(&session.window)?;
    steps(&mut session, scene.after, zoom)?;
    if !matches!(scene.after.last(), Some(Step::Play(_))) {
        settled(&session.window)?;
        session.window.point_at(NOWHERE)?;
    }
    settled(&session.window)
}

/// A corner with nothing in it, pixels.
const NOWHERE: (i16, i16) = (2, 2);
/// Blocks of the four bars.
const BARS: u32 = 950;

/// What a hand does, one thing after the other.
fn steps(session: &mut WindowSession, steps: &[Step], zoom: f32) -> anyhow::Result<()> {
    let at = |(x, y): Place| (scaled(x, zoom), scaled(y, zoom));
    for step in steps {
        match *step {
            Step::Click(place) => session.window.click(at(place))?,
            Step::DoubleClick(place) => session.window.double_click(at(place))?,
            Step::Hold(place) => session.window.hold(at(place), at(place))?,
            Step::Drag(from, to) => session.window.drag(at(from), at(to))?,
            Step::Type(text) => session.window.type_text(text)?,
            Step::Key(key) => session.window.press_key(key)?,
            Step::Play(blocks) => measure(session, blocks).map_err(|error| anyhow!("{error}"))?,
            Step::Farther(samples) => session.put_second_farther(samples),
        }
    }
    Ok(())
}

/// Pixels of a place in points.
fn scaled(points: i16, zoom: f32) -> i16 {
    (f32::from(points) * zoom).round() as i16
}

/// Plays blocks, faster than they were played and no faster than the analysis can follow.
fn measure(session: &mut WindowSession, blocks: u32) -> Outcome {
    const PACE: Duration = Duration::from_millis(2);
    for _ in 0..blocks {
        session.play_block()?;
        sleep(PACE);
    }
    let found = session.instance.measurement()?.unwrap_or_default();
    match found.dropped_frames {
        0 => Ok(()),
        lost => Err(anyhow!("{lost} frames were too fast for the analysis").into()),
    }
}

/// Waits until nothing has moved for a while: the longer the larger the window is, because drawing it takes longer. On a busy
/// machine without a graphics card a frame of a window at 300 % takes seconds.
fn settled(window: &Window) -> anyhow::Result<Screenshot> {
    const REST: Duration = Duration::from_millis(400);
    const PATIENCE: Duration = Duration::from_secs(60);
    let begin = Instant::now();
    let (mut last, mut since, mut changes) = (window.screenshot()?, Instant::now(), 0);
    while since.elapsed() < REST.mul_f64(usual_windows(&last)) || !last.is_drawn() {
        anyhow::ensure!(
            begin.elapsed() < PATIENCE,
            "the window never rests: {changes} changes in {PATIENCE:?}, the last one {:?} ago, something drawn: {}",
            since.elapsed(),
            last.is_drawn()
        );
        sleep(Duration::from_millis(20));
        let now = window.screenshot()?;
        if now != last {
            (last, since, changes) = (now, Instant::now(), changes + 1);
        }
    }
    Ok(last)
}

/// How many windows of the usual size a picture is as large as, one at least.
fn usual_windows(picture: &Screenshot) -> f64 {
    let (width, height) = USUAL;
    (picture.pixels.len() as f64 / f64::from(width * height)).max(1.0)
}
