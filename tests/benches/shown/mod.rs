//! What a window costs that is shown and stands still: the pacer that has it look, its own thread, and a change to compare with.
//!
//! Promises figures and ratios of one run, and holds none of them to a limit. Called by the benchmark of the hosted cost;
//! calls the hosting crate for windows and instances.

use plumbline_hosting::{Bundle, Instance, Session, Window};
use std::fs;
use std::thread::sleep;
use std::time::Duration;

/// Shown at the same time.
const WINDOWS: usize = 8;
/// In which a window has been drawn and stands.
const SETTLES: Duration = Duration::from_secs(2);
const STANDS: Duration = Duration::from_secs(8);
/// Of each window, one after another.
const CHANGES: usize = 40;
/// From one to the next: longer than all windows take to be drawn.
const PAUSE: Duration = Duration::from_millis(200);
/// What the pacers call themselves.
const PACER: &str = "plumbline pacer";

/// Seconds that threads have run.
#[derive(Clone, Copy, Debug)]
struct Spent {
    pacers: f64,
    windows: f64,
}

/// Opens windows on the display that `DISPLAY` names and prints what they cost.
pub fn print(bundle: &Bundle) -> anyhow::Result<()> {
    let mut shown = Vec::new();
    for _ in 0..WINDOWS {
        let window = Window::open("Plumbline", (0, 0))?;
        let mut instance = bundle.open(&Session::default())?;
        instance.open_editor(&window)?;
        shown.push((instance, window));
    }
    sleep(SETTLES);
    let begin = spent()?;
    sleep(STANDS);
    let stood = spent()?;
    for number in 0..CHANGES {
        for (instance, _) in &mut shown {
            change(instance, number)?;
        }
        sleep(PAUSE);
    }
    let drawn = spent()?;
    let windows = WINDOWS as f64;
    let share = |from: f64, to: f64| (to - from) / STANDS.as_secs_f64() / windows;
    let pacer = share(begin.pacers, stood.pacers);
    let window = share(begin.windows, stood.windows);
    let looked = window * PAUSE.as_secs_f64() * CHANGES as f64;
    let change = ((drawn.windows - stood.windows) / windows - looked) / CHANGES as f64;
    println!(
        "a shown window that stands   {:7.4} % of one core for its pacer, {:.4} % for its own thread",
        100.0 * pacer,
        100.0 * window
    );
    println!(
        "{:28} {:7.2} ms for a change that is drawn, without the graphics' own threads: the pacer costs {:.3} of one a second",
        "",
        1e3 * change,
        pacer / change
    );
    for (instance, _) in &mut shown {
        instance.close_editor();
    }
    Ok(())
}

/// Another level in the header.
fn change(instance: &mut Instance, number: usize) -> anyhow::Result<()> {
    instance.set("output", -((number % 7) as f64))?;
    let (mut first, mut second) = ([0.0; 64], [0.0; 64]);
    let (main, spot) = instance.session().layout.channels();
    let spot = vec![[0.0; 64]; spot];
    let spot: Vec<&[f32]> = spot.iter().map(|channel| &channel[..]).collect();
    let mut channels = [&mut first[..], &mut second[..]];
    instance.process(&mut channels[..main], &spot)
}

/// A window's thread has the name of the one that opened it.
fn spent() -> anyhow::Result<Spent> {
    let first = std::process::id().to_string();
    let own = name(&format!("/proc/self/task/{first}"))?;
    let mut spent = Spent {
        pacers: 0.0,
        windows: 0.0,
    };
    for task in fs::read_dir("/proc/self/task")?.flatten() {
        let folder = task.path().display().to_string();
        let words = fs::read_to_string(format!("{folder}/schedstat"))?;
        let run: f64 = words.split(' ').next().unwrap_or_default().parse()?;
        match name(&folder)? {
            name if name == PACER => spent.pacers += 1e-9 * run,
            name if name == own && task.file_name() != *first => spent.windows += 1e-9 * run,
            _ => {}
        }
    }
    Ok(spent)
}

fn name(task: &str) -> anyhow::Result<String> {
    Ok(fs::read_to_string(format!("{task}/comm"))?.trim().into())
}
