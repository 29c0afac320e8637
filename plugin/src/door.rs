//! The way out of an audio path and into the next one, for hosts that change the latency while the audio runs.

use plumbline_dsp::math::ramp::{GLIDE_S, Ramp};

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Everything passes, bit for bit.
    Open,
    Closing,
    Shut,
    /// Shut for so many samples more, until the lines behind it are full.
    Filling(usize),
    Opening,
}

/// Fades a path out before it is replaced, and the one in its place in. Depends on the count of samples only.
#[derive(Clone, Debug)]
pub struct Door {
    state: State,
    ramp: Ramp,
}

impl Door {
    /// Open.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            state: State::Open,
            ramp: Ramp::new(GLIDE_S, sample_rate),
        }
    }

    /// Begins to close, unless it does already.
    pub fn close(&mut self) {
        if matches!(self.state, State::Open | State::Opening) {
            self.turn(State::Closing);
        }
    }

    /// Opens again, if it was to close.
    pub fn stay_open(&mut self) {
        match self.state {
            State::Closing => self.turn(State::Opening),
            State::Shut => self.open_after(0),
            _ => {}
        }
    }

    /// Shut, and opens after so many samples.
    pub fn open_after(&mut self, samples: usize) {
        self.state = State::Filling(samples);
        self.ramp.finish();
    }

    /// Open at once.
    pub fn reset(&mut self) {
        self.state = State::Open;
        self.ramp.finish();
    }

    /// Nothing passes.
    pub fn is_shut(&self) -> bool {
        self.state == State::Shut
    }

    /// Lets channels of one length pass as far as it is open.
    pub fn apply(&mut self, channels: &mut [&mut [f32]]) {
        if self.state == State::Open {
            return;
        }
        let length = channels.first().map_or(0, |channel| channel.len());
        for n in 0..length {
            let gain = self.step();
            for channel in channels.iter_mut() {
                channel[n] *= gain;
            }
        }
    }

    /// The way back begins where this one has come to.
    fn turn(&mut self, to: State) {
        let done = self.ramp.remaining();
        self.ramp.start();
        if self.state != State::Open {
            (0..done).for_each(|_| _ = self.ramp.step());
        }
        self.state = to;
    }

    fn step(&mut self) -> f32 {
        match self.state {
            State::Open => 1.0,
            State::Shut => 0.0,
            State::Filling(0) => {
                self.state = State::Opening;
                self.ramp.start();
                self.step()
            }
            State::Filling(left) => {
                self.state = State::Filling(left - 1);
                0.0
            }
            State::Closing => {
                let gain = 1.0 - self.ramp.step();
                self.arrive(State::Shut);
                gain
            }
            State::Opening => {
                let gain = self.ramp.step();
                self.arrive(State::Open);
                gain
            }
        }
    }

    fn arrive(&mut self, at: State) {
        if !self.ramp.is_running() {
            self.state = at;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gains(door: &mut Door, count: usize) -> Vec<f32> {
        let mut ones = vec![1.0; count];
        door.apply(&mut [&mut ones]);
        ones
    }

    fn steepest(gains: &[f32]) -> f32 {
        let steps = gains.windows(2).map(|pair| (pair[1] - pair[0]).abs());
        steps.fold(0.0, f32::max)
    }

    #[test]
    fn it_closes_waits_and_opens_without_a_step() {
        let mut door = Door::new(48_000.0);
        assert!(gains(&mut door, 100).iter().all(|gain| *gain == 1.0));
        door.close();
        let closing = gains(&mut door, 960);
        assert!(door.is_shut() && closing[959] == 0.0);
        door.open_after(500);
        let opening = gains(&mut door, 500 + 960);
        assert!(opening[..500].iter().all(|gain| *gain == 0.0));
        assert_eq!(opening[500 + 959], 1.0);
        assert!(steepest(&closing).max(steepest(&opening)) < 0.002);
    }

    #[test]
    fn turned_round_half_way_it_goes_back_the_way_it_came() {
        let mut door = Door::new(48_000.0);
        door.close();
        let mut all = gains(&mut door, 300);
        door.stay_open();
        all.extend(gains(&mut door, 100));
        door.close();
        all.extend(gains(&mut door, 760));
        assert!(door.is_shut());
        assert!(steepest(&all) < 0.002, "{}", steepest(&all));
    }
}
