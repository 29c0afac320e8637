//! What was moved from the window, to be undone and done again; and two settings side by side.

use super::frame::{Control, Side};

/// Most steps that are kept.
const STEPS: usize = 200;

/// A control and its value in the parameter's own unit.
pub type Value = (Control, f32);

/// One control moved from one value to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    pub control: Control,
    pub before: f32,
    pub after: f32,
}

/// What was done at one go.
type Step = Vec<Change>;

/// Steps that can be undone, and undone ones that can be done again.
#[derive(Clone, Debug, Default)]
pub struct History {
    done: Vec<Step>,
    undone: Vec<Step>,
    /// Controls that are taken hold of.
    held: Vec<Change>,
}

impl History {
    /// A control is taken hold of where it stands.
    pub fn begin(&mut self, control: Control, value: f32) {
        self.held.push(Change {
            control,
            before: value,
            after: value,
        });
    }

    /// It is moved.
    pub fn set(&mut self, control: Control, value: f32) {
        let held = self.held.iter_mut().rev();
        if let Some(held) = held.into_iter().find(|held| held.control == control) {
            held.after = value;
        }
    }

    /// It is let go: one step, if it stands elsewhere now.
    pub fn end(&mut self, control: Control) {
        let place = self.held.iter().rposition(|held| held.control == control);
        if let Some(place) = place {
            let change = self.held.remove(place);
            self.record(vec![change]);
        }
    }

    /// Several controls were moved at one go.
    pub fn record(&mut self, mut step: Step) {
        step.retain(|change| !is_momentary(change.control) && change.before != change.after);
        if step.is_empty() {
            return;
        }
        self.undone.clear();
        self.done.push(step);
        if self.done.len() > STEPS {
            self.done.remove(0);
        }
    }

    /// The values from before the last step.
    pub fn undo(&mut self) -> Vec<Value> {
        let step = self.done.pop().unwrap_or_default();
        let values = step
            .iter()
            .rev()
            .map(|change| (change.control, change.before));
        let values = values.collect();
        if !step.is_empty() {
            self.undone.push(step);
        }
        values
    }

    /// The values from after the step that was undone last.
    pub fn redo(&mut self) -> Vec<Value> {
        let step = self.undone.pop().unwrap_or_default();
        let values = step.iter().map(|change| (change.control, change.after));
        let values = values.collect();
        if !step.is_empty() {
            self.done.push(step);
        }
        values
    }

    /// How many steps can be undone, and done again.
    pub fn steps(&self) -> (usize, usize) {
        (self.done.len(), self.undone.len())
    }
}

/// What is pressed and let go is no step.
fn is_momentary(control: Control) -> bool {
    matches!(control, Control::Compare | Control::StartPass)
}

/// Two settings side by side, each with its own history. They live as long as the instance.
#[derive(Clone, Debug, Default)]
pub struct Sides {
    pub side: Side,
    pub history: History,
    /// Values and history of the side that is not heard; `None`: it is the same.
    other: Option<(Vec<Value>, History)>,
}

impl Sides {
    /// Goes over to a side, `now` being what the other one is left with; the values that it brings.
    pub fn go_to(&mut self, side: Side, now: Vec<Value>) -> Vec<Value> {
        if side == self.side {
            return Vec::new();
        }
        self.side = side;
        let history = std::mem::take(&mut self.history);
        let other = self.other.replace((now, history));
        let (values, history) = other.unwrap_or_default();
        self.history = history;
        values
    }

    /// The side that is not heard becomes what is heard now.
    pub fn copy_to_other(&mut self, now: Vec<Value>) {
        self.other = Some((now, History::default()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(history: &mut History, control: Control, from: f32, to: f32) {
        history.begin(control, from);
        history.set(control, (from + to) / 2.0);
        history.set(control, to);
        history.end(control);
    }

    #[test]
    fn steps_go_back_and_forth() {
        let mut history = History::default();
        moved(&mut history, Control::Amount, 100.0, 60.0);
        moved(&mut history, Control::Amount, 60.0, 60.0);
        moved(&mut history, Control::Compare, 0.0, 1.0);
        moved(&mut history, Control::Range, 3.0, 5.0);
        assert_eq!(history.steps(), (2, 0));
        assert_eq!(history.undo(), [(Control::Range, 3.0)]);
        assert_eq!(history.undo(), [(Control::Amount, 100.0)]);
        assert_eq!(history.undo(), []);
        assert_eq!(history.redo(), [(Control::Amount, 60.0)]);
        assert_eq!(history.steps(), (1, 1));
        moved(&mut history, Control::Blend, 50.0, 20.0);
        assert_eq!(
            history.redo(),
            [],
            "what was undone is gone after another step"
        );
    }

    #[test]
    fn a_preset_is_one_step() {
        let mut history = History::default();
        let change = |control, before, after| Change {
            control,
            before,
            after,
        };
        history.record(vec![
            change(Control::Mode, 0.0, 1.0),
            change(Control::Range, 3.0, 3.0),
            change(Control::Motion, 0.0, 2.0),
        ]);
        assert_eq!(
            history.undo(),
            [(Control::Motion, 0.0), (Control::Mode, 0.0)]
        );
        assert_eq!(
            history.redo(),
            [(Control::Mode, 1.0), (Control::Motion, 2.0)]
        );
    }

    #[test]
    fn both_sides_keep_their_values_and_their_history() {
        let mut sides = Sides::default();
        moved(&mut sides.history, Control::Range, 3.0, 5.0);
        assert_eq!(
            sides.go_to(Side::B, vec![(Control::Range, 5.0)]),
            [],
            "B begins as A"
        );
        assert_eq!(sides.history.steps(), (0, 0));
        moved(&mut sides.history, Control::Range, 5.0, 8.0);
        let back = sides.go_to(Side::A, vec![(Control::Range, 8.0)]);
        assert_eq!(back, [(Control::Range, 5.0)]);
        assert_eq!(sides.history.steps(), (1, 0));
        sides.copy_to_other(vec![(Control::Range, 5.0)]);
        assert_eq!(sides.go_to(Side::B, Vec::new()), [(Control::Range, 5.0)]);
    }
}
