//! Finds the strokes in a spot microphone: a jump of the short-time level over what was heard just before.

/// High-pass before the level meters: rumble and stands below, every drum's attack above. Common practice, no source.
const HIGH_PASS_HZ: f64 = 120.0;
/// A drum's attack forms in 2 ms; the fast level must be a few times shorter.
const FAST_S: f64 = 0.0005;
/// Long enough to hold one cycle of any drum's body, so that the body cannot fire again.
const SLOW_S: f64 = 0.020;
/// 12 dB: noise of 0.5 ms and 120 Hz .. 20 kHz swings 2 dB around its level, a drum's own body 6 dB.
const JUMP: f64 = 4.0;
/// A stroke softer than this against the loudest of late is left out, 40 dB: below the softest ghost note.
const SOFTEST: f64 = 0.01;
/// The loudest of late is forgotten by half in this time, so that a soft passage is heard.
const FORGET_S: f64 = 5.0;
/// Nothing below -100 dBFS is a stroke: under the last bit of 16.
const FLOOR: f64 = 1e-5;
/// After a stroke the finder rests: below any playable repetition of one drum (25 strokes a second).
const REST_S: f64 = 0.040;
/// Looking back for the start: the longest rise from the jump's level to its detection.
const RISE_S: f64 = 0.003;

/// One sample at a time in; where a stroke began out.
#[derive(Debug)]
pub(crate) struct HitFinder {
    high_pass: f64,
    fast_step: f64,
    slow_step: f64,
    forget: f64,
    rest_samples: u64,
    settle_samples: u64,
    /// The fast level of late, a ring whose length is a power of two.
    rise: Box<[f64]>,
    rise_samples: u64,
    low: f64,
    fast: f64,
    slow: f64,
    loudest: f64,
    count: u64,
    rest_until: u64,
}

impl HitFinder {
    pub(crate) fn new(rate: f64) -> Self {
        let step = |seconds: f64| 1.0 - (-1.0 / (seconds * rate)).exp();
        Self {
            high_pass: step(1.0 / (2.0 * std::f64::consts::PI * HIGH_PASS_HZ)),
            fast_step: step(FAST_S),
            slow_step: step(SLOW_S),
            forget: 0.25f64.powf(1.0 / (FORGET_S * rate)),
            rest_samples: (REST_S * rate) as u64,
            settle_samples: (2.0 * SLOW_S * rate) as u64,
            rise: vec![0.0; ((RISE_S * rate).ceil() as usize + 1).next_power_of_two()].into(),
            rise_samples: (RISE_S * rate).ceil() as u64,
            low: 0.0,
            fast: 0.0,
            slow: 0.0,
            loudest: 0.0,
            count: 0,
            rest_until: 0,
        }
    }

    pub(crate) fn reset(&mut self) {
        (self.low, self.fast, self.slow, self.loudest) = (0.0, 0.0, 0.0, 0.0);
        (self.count, self.rest_until) = (0, self.settle_samples);
        self.rise.fill(0.0);
    }

    /// Takes the next sample; the sample count at which a stroke began, when this sample tells.
    pub(crate) fn push(&mut self, sample: f64) -> Option<u64> {
        let now = self.count;
        self.count += 1;
        self.low += self.high_pass * (sample - self.low);
        let level = (sample - self.low).powi(2);
        self.fast += self.fast_step * (level - self.fast);
        let here = self.place(now);
        self.rise[here] = self.fast;
        // The slow level hears the fast one 3 ms late: a rise does not lift its own threshold.
        let late = self.rise[self.place(now.wrapping_sub(self.rise_samples))];
        self.slow += self.slow_step * (late - self.slow);
        self.loudest = self.fast.max(self.loudest * self.forget);
        let threshold = (JUMP * JUMP * self.slow)
            .max(SOFTEST * SOFTEST * self.loudest)
            .max(FLOOR * FLOOR);
        if self.fast <= threshold || now < self.rest_until.max(self.settle_samples) {
            return None;
        }
        self.rest_until = now + self.rest_samples;
        Some(self.start(now))
    }

    /// The last moment before the jump at which the level was below a twentieth of what fired.
    fn start(&self, now: u64) -> u64 {
        let back = (self.rise_samples + 1).min(now + 1);
        let quiet = |ago: &u64| self.rise[self.place(now - ago)] < 0.05 * self.fast;
        now - (1..back).find(quiet).unwrap_or(back - 1)
    }

    fn place(&self, count: u64) -> usize {
        count as usize & (self.rise.len() - 1)
    }
}
