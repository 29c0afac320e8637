//! A gate that fades an audio path out and the one in its place in, for hosts that change the latency while it runs.

use plumbline_dsp::math::ramp::{GLIDE_S, Ramp};

/// What the gate does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Everything passes, bit for bit.
    Open,
    Closing,
    Closed,
    /// Closed for so many samples more, until the delay lines behind it are full.
    Filling(usize),
    Opening,
}

/// Fades a path out before it is replaced, and the one in its place in. Depends on the count of samples only.
#[derive(Clone, Debug)]
pub struct OutputGate {
    state: State,
    ramp: Ramp,
}

impl OutputGate {
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
            self.reverse(State::Closing);
        }
    }

    /// Opens again, if it was to close.
    pub fn stay_open(&mut self) {
        match self.state {
            State::Closing => self.reverse(State::Opening),
            State::Closed => self.open_after(0),
            _ => {}
        }
    }

    /// Closed, and opens after so many samples.
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
    pub fn is_closed(&self) -> bool {
        self.state == State::Closed
    }

    /// Scales channels of one length by how far it is open.
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

    /// Starts the other fade at the gain that this one has come to.
    fn reverse(&mut self, to: State) {
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
            State::Closed => 0.0,
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
                self.arrive(State::Closed);
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

    fn gains(gate: &mut OutputGate, count: usize) -> Vec<f32> {
        let mut ones = vec![1.0; count];
        gate.apply(&mut [&mut ones]);
        ones
    }

    fn steepest(gains: &[f32]) -> f32 {
        let steps = gains.windows(2).map(|pair| (pair[1] - pair[0]).abs());
        steps.fold(0.0, f32::max)
    }

    #[test]
    fn it_closes_waits_and_opens_without_a_step() {
        let mut gate = OutputGate::new(48_000.0);
        assert!(gains(&mut gate, 100).iter().all(|gain| *gain == 1.0));
        gate.close();
        let closing = gains(&mut gate, 960);
        assert!(gate.is_closed() && closing[959] == 0.0);
        gate.open_after(500);
        let opening = gains(&mut gate, 500 + 960);
        assert!(opening[..500].iter().all(|gain| *gain == 0.0));
        assert_eq!(opening[500 + 959], 1.0);
        assert!(steepest(&closing).max(steepest(&opening)) < 0.002);
    }

    #[test]
    fn turned_round_half_way_it_goes_back_the_way_it_came() {
        let mut gate = OutputGate::new(48_000.0);
        gate.close();
        let mut all = gains(&mut gate, 300);
        gate.stay_open();
        all.extend(gains(&mut gate, 100));
        gate.close();
        all.extend(gains(&mut gate, 760));
        assert!(gate.is_closed());
        assert!(steepest(&all) < 0.002, "{}", steepest(&all));
    }
}
