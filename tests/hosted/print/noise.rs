//! Tape noise: none while off, and while on the same at the same place of the song on every bounce.

use super::session::{LENGTH, MODES, loud_pair, open, printed};
use crate::decks::instance::{DecksSession, Format, Pair, difference_db};
use crate::vst3::host::Render;
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_hosting::{Song, Tempo, random_lengths};
use std::ops::Range;

/// A bar takes a second. It begins between two samples.
const SONG: Song = Song {
    seconds: 10.000_01,
    tempo: Tempo::steady(240.0),
    beats_per_bar: 4,
};

/// Two renders are one: power of what differs, dB of full scale.
const SAME_DB: f64 = -140.0;

/// After a start in the middle, samples until the machine's low corners hold what the music left in them.
const SETTLED: usize = 12_000;

/// One render of the song from a sample on.
struct Bounce {
    session: DecksSession,
    mode: f64,
    from: usize,
}

impl Bounce {
    fn play(&self, input: &Pair, lengths: impl FnMut() -> usize) -> Pair {
        let settings = [("hiss", -45.0), ("tape_level", 6.0)];
        let mut instance = open(self.session, self.mode, 1.0, &settings);
        let from_s = self.from as f64 / self.session.rate;
        instance.play_from(Some(SONG.after(from_s)));
        instance.run(input, lengths)
    }
}

fn cut(pair: &Pair, range: Range<usize>) -> Pair {
    [0, 1].map(|channel| pair[channel][range.clone()].to_vec())
}

fn level_db(pair: &Pair) -> f64 {
    let silent = vec![0.0; pair[0].len()];
    difference_db(&pair[0], &silent).max(difference_db(&pair[1], &silent))
}

#[test]
fn it_is_silent_while_off_and_the_cores_while_on() {
    // How loud the core's is and where it is seeded, its own tests say.
    let silent: Pair = [vec![0.0; LENGTH], vec![0.0; LENGTH]];
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        let render = |settings: &[_]| open(session, 0.0, 1.0, settings).run(&silent, || 480);
        let off = render(&[("tape_level", 18.0)]);
        assert!(off.iter().flatten().all(|x| *x == 0.0), "{format:?}");
        let late = open(session, 0.0, 0.0, &[]).latency();
        for (hiss, level) in [(-40.0, 0.0), (-60.0, 12.0), (-80.0, -12.0)] {
            let settings = PrintSettings {
                hiss_db: Some(hiss),
                level_db: level,
                ..PrintSettings::default()
            };
            let core = printed(session, &silent, late, &settings);
            let on = render(&[("hiss", hiss), ("tape_level", level)]);
            assert!(on == core, "{format:?}, noise {hiss} dB, level {level} dB");
            assert!(level_db(&on) > -130.0, "{format:?}, noise {hiss} dB");
        }
    }
}

#[test]
fn bounces_are_alike_whatever_the_blocks_the_kind_of_render_and_the_start() {
    let input = loud_pair();
    for format in Format::BOTH {
        for (mode_name, mode) in MODES {
            let session = DecksSession::of(format);
            let offline = DecksSession {
                render: Render::Offline,
                ..session
            };
            let bounce = |session, from| Bounce {
                session,
                mode,
                from,
            };
            let whole = bounce(session, 0).play(&input, || 64);
            let alike = |how: &str, other: Pair| {
                assert!(other == whole, "{format:?}, {mode_name}, {how}");
            };
            alike("blocks of 1", bounce(session, 0).play(&input, || 1));
            alike("blocks of 1024", bounce(session, 0).play(&input, || 1024));
            let lengths = random_lengths(700, 5);
            alike("random blocks", bounce(session, 0).play(&input, lengths));
            alike("offline", bounce(offline, 0).play(&input, || 512));
            // Silence is played from the middle on: what is heard there is the tape's own noise.
            let from = 5_000;
            let silent: Pair = [vec![0.0; LENGTH], vec![0.0; LENGTH]];
            let whole = bounce(session, 0).play(&silent, || 64);
            let later = bounce(session, from).play(&cut(&silent, from..LENGTH), || 333);
            let (whole, later) = (
                cut(&whole, from + SETTLED..LENGTH),
                cut(&later, SETTLED..LENGTH - from),
            );
            let apart = (0..2).map(|c| difference_db(&whole[c], &later[c]));
            let apart = apart.fold(f64::NEG_INFINITY, f64::max);
            println!("{format:?}, {mode_name}, from the middle: {apart:.1} dB");
            assert!(apart <= SAME_DB, "{format:?}, {mode_name}: {apart} dB");
            assert!(level_db(&whole) > -75.0, "there is noise");
        }
    }
}
