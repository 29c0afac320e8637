//! Drag: one of two decks is braked by hand; the offset is the integral of the difference of their speeds.

/// Speed that a fully braked deck loses. Common practice (a hard thumb is 1 to 5 %), no source.
pub const FULL_DRAG: f64 = 0.03;
/// Time in which a braked reel takes on its new speed, and in which one let go recovers. From memory: 0.1 to 0.3 s and
/// 0.15 to 0.5 s.
pub const BRAKE_S: f64 = 0.2;
/// See [`BRAKE_S`].
pub const RELEASE_S: f64 = 0.3;
/// How gently the travel ends at the range, speed a second: from full drag in `BRAKE_S`.
const STOP_PER_S: f64 = FULL_DRAG / BRAKE_S;

/// What is done to the decks by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DragControl {
    /// A braking force from -1 to 1: positive on the moving deck, negative on the fixed one, 0 when let go.
    Brake(f64),
    /// Both decks are brought back together.
    Recue,
}

/// Reels whose speeds differ by less run at one speed: a sample of 768 kHz in two weeks.
const SAME_SPEED: f64 = 1e-12;

/// Offset and speed difference of two decks whose speeds follow the brake as first-order lags.
#[derive(Clone, Debug)]
pub struct DragModel {
    /// Seconds from one sample to the next.
    step_s: f64,
    /// Moving deck minus fixed deck, seconds.
    offset_s: f64,
    /// How fast the offset grows, seconds a second: the fixed deck's speed minus the moving deck's.
    speed: f64,
    /// Part of a speed difference left after one sample of braking, and of letting go.
    brake: f64,
    release: f64,
}

impl DragModel {
    /// Together and at speed.
    pub fn new(sample_rate: f64) -> Self {
        let step_s = 1.0 / sample_rate;
        Self {
            step_s,
            offset_s: 0.0,
            speed: 0.0,
            brake: (-step_s / BRAKE_S).exp(),
            release: (-step_s / RELEASE_S).exp(),
        }
    }

    /// Together and at speed.
    pub fn reset(&mut self) {
        self.offset_s = 0.0;
        self.speed = 0.0;
    }

    /// Moving deck minus fixed deck, seconds.
    pub fn offset_s(&self) -> f64 {
        self.offset_s
    }

    /// The offset, while nobody touches the decks and they run at one speed.
    pub fn resting_offset_s(&self, control: DragControl, range_s: f64) -> Option<f64> {
        let untouched = control == DragControl::Brake(0.0) && self.speed == 0.0;
        (untouched && self.offset_s.abs() <= range_s).then_some(self.offset_s)
    }

    /// One sample later. The offset comes to a soft stop at `range_s` on both sides; a range below zero, which modulation
    /// at full depth can ask for, is none.
    pub fn step(&mut self, control: DragControl, range_s: f64) {
        let range_s = range_s.max(0.0);
        match control {
            DragControl::Brake(force) => self.drag(force.clamp(-1.0, 1.0) * FULL_DRAG, range_s),
            DragControl::Recue => self.recue(),
        }
    }

    /// First-order reels: the step response of the offset is e (t - τ (1 - exp(-t / τ))).
    fn drag(&mut self, target: f64, range_s: f64) {
        let pushed = target.abs() > self.speed.abs();
        let (left, time) = if pushed {
            (self.brake, BRAKE_S)
        } else {
            (self.release, RELEASE_S)
        };
        let missing = self.speed - target;
        let travel = target * self.step_s + missing * time * (1.0 - left);
        let speed = target + missing * left;
        self.speed = if speed.abs() < SAME_SPEED { 0.0 } else { speed };
        self.travel(travel, range_s);
    }

    fn travel(&mut self, travel: f64, range_s: f64) {
        let side = travel.signum();
        let room = (range_s - self.offset_s * side).max(0.0);
        let fastest = stopping_speed(room);
        if self.speed * side > fastest {
            self.speed = fastest * side;
        }
        let travel = travel.abs().min(fastest * self.step_s) * side;
        self.offset_s = (self.offset_s + travel).clamp(-range_s, range_s);
    }

    /// Both hands know where the null point is: as fast as a full drag, ending softly and exactly there.
    fn recue(&mut self) {
        let side = self.offset_s.signum();
        let wanted = -side * stopping_speed(self.offset_s.abs()).min(FULL_DRAG);
        let most = STOP_PER_S * self.step_s * 2.0;
        self.speed += (wanted - self.speed).clamp(-most, most);
        let next = self.offset_s + self.speed * self.step_s;
        if next * side <= most * self.step_s {
            self.reset();
        } else {
            self.offset_s = next;
        }
    }
}

/// The speed from which a reel comes to rest within `room_s`.
fn stopping_speed(room_s: f64) -> f64 {
    (2.0 * STOP_PER_S * room_s).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;

    fn run(drag: &mut DragModel, control: DragControl, seconds: f64, range_s: f64) {
        for _ in 0..(seconds * RATE) as usize {
            drag.step(control, range_s);
        }
    }

    #[test]
    fn a_range_that_swings_past_zero_is_none() {
        let mut decks = DragModel::new(RATE);
        run(&mut decks, DragControl::Brake(1.0), 0.5, 0.012);
        run(&mut decks, DragControl::Brake(1.0), 0.1, -0.001);
        assert_eq!(decks.offset_s(), 0.0);
    }

    #[test]
    fn letting_go_leaves_the_offset_where_it_is() {
        let mut drag = DragModel::new(RATE);
        run(&mut drag, DragControl::Brake(0.2), 0.5, 0.012);
        run(&mut drag, DragControl::Brake(0.0), 5.0, 0.012);
        let after = drag.offset_s();
        assert!(after > 0.002, "{after}");
        run(&mut drag, DragControl::Brake(0.0), 10.0, 0.012);
        assert!((drag.offset_s() - after).abs() < 1e-9);
        run(&mut drag, DragControl::Brake(-0.2), 2.0, 0.012);
        assert!(
            drag.offset_s() < 0.0,
            "the other deck was braked through zero"
        );
    }

    #[test]
    fn it_stops_softly_at_the_range() {
        for range_s in [0.00005, 0.003, 0.012] {
            let mut drag = DragModel::new(RATE);
            let (mut last, mut hardest) = (0.0f64, 0.0f64);
            for n in 0..(3.0 * RATE) as usize {
                let before = drag.offset_s();
                drag.step(DragControl::Brake(1.0), range_s);
                let speed = (drag.offset_s() - before) * RATE;
                if n > 0 {
                    hardest = hardest.max((speed - last).abs());
                }
                last = speed;
            }
            assert!((drag.offset_s() - range_s).abs() < range_s * 1e-3);
            // Nothing is stopped harder than twice the soft stop.
            assert!(hardest < 2.0 * STOP_PER_S / RATE, "{range_s}: {hardest}");
        }
    }

    #[test]
    fn recue_ends_exactly_at_the_null_point() {
        for force in [1.0, -0.7] {
            let mut drag = DragModel::new(RATE);
            run(&mut drag, DragControl::Brake(force), 0.6, 0.012);
            run(&mut drag, DragControl::Recue, 2.0, 0.012);
            assert_eq!(drag.offset_s(), 0.0);
            run(&mut drag, DragControl::Brake(0.0), 1.0, 0.012);
            assert_eq!(drag.offset_s(), 0.0);
        }
    }

    #[test]
    fn a_range_made_smaller_takes_the_offset_along() {
        let mut drag = DragModel::new(RATE);
        run(&mut drag, DragControl::Brake(1.0), 1.0, 0.012);
        run(&mut drag, DragControl::Brake(0.0), 0.1, 0.001);
        assert!(drag.offset_s() <= 0.001);
    }
}
