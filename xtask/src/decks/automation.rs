//! The automation of the decks over a file: constant controls, automation lines, and switches on their bar.

use anyhow::Result;
use plumbline_hosting::{Instance, StartingPoint};

use super::automation_line::AutomationLine;
use super::bars::Bars;
use crate::audio::BLOCK;

/// Samples between two points of a moving line: the plugin joins them.
const LINE_STEP: usize = 256;
/// A synced pass is cued this much before its bar line, quarter notes.
const CUE_BEATS: f64 = 0.5;
/// How long the start button is held, quarter notes.
const HELD_BEATS: f64 = 0.25;

/// A control and its value: a number in its unit, or the word of a choice.
#[derive(Clone, Debug, PartialEq)]
pub enum Control {
    /// In the control's own unit; 0 or 1 for a switch.
    Number(&'static str, f64),
    /// A choice, as it reads on the plugin.
    Word(&'static str, String),
}

/// A control that is set on one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Switch {
    /// Seconds of the file.
    at_s: f64,
    id: &'static str,
    value: f64,
}

/// Everything that changes while the file plays.
#[derive(Clone, Debug)]
pub struct Automation {
    /// The song over the file.
    pub bars: Bars,
    /// What the controls are before anything is set.
    pub start: Option<StartingPoint>,
    constants: Vec<Control>,
    lines: Vec<(&'static str, AutomationLine)>,
    /// In the order of time.
    switches: Vec<Switch>,
    /// From when to when the decks are engaged, seconds of the file.
    engaged_s: (f64, f64),
}

impl Automation {
    /// Constant controls alone.
    pub fn new(bars: Bars, constants: Vec<Control>) -> Self {
        Self {
            bars,
            start: None,
            constants,
            lines: Vec::new(),
            switches: Vec::new(),
            engaged_s: (f64::NEG_INFINITY, f64::INFINITY),
        }
    }

    /// A control follows a line from the first sample of the file on. Before that its value is `before`.
    pub fn add_line(&mut self, id: &'static str, line: AutomationLine, before: f64) {
        self.constants.push(Control::Number(id, before));
        self.lines.push((id, line));
    }

    /// A pass begins on this bar line; the start button is pressed a little earlier.
    pub fn start_on_bar(&mut self, bar: f64) {
        self.press_start(bar - self.bars.bars(CUE_BEATS));
    }

    /// A pass begins right at this bar, which need not be whole.
    pub fn start_at_once(&mut self, bar: f64) {
        self.press_start(bar);
    }

    /// The same with one control constant.
    pub fn with_constant(mut self, id: &'static str, value: f64) -> Self {
        self.switches.retain(|switch| switch.id != id);
        self.lines.retain(|(line, _)| *line != id);
        self.constants.push(Control::Number(id, value));
        self
    }

    fn press_start(&mut self, bar: f64) {
        let let_go = bar + self.bars.bars(HELD_BEATS);
        self.switch(self.bars.seconds(bar), "start", 1.0);
        self.switch(self.bars.seconds(let_go), "start", 0.0);
    }

    /// Engages the decks from one bar to another; outside, the fixed deck plays alone.
    pub fn engage(&mut self, from: Option<f64>, to: Option<f64>) {
        let at_front = if from.is_some() { 0.0 } else { 1.0 };
        self.constants.push(Control::Number("engage", at_front));
        if let Some(bar) = from {
            self.engaged_s.0 = self.bars.seconds(bar);
            self.switch(self.engaged_s.0, "engage", 1.0);
        }
        if let Some(bar) = to {
            self.engaged_s.1 = self.bars.seconds(bar);
            self.switch(self.engaged_s.1, "engage", 0.0);
        }
    }

    /// True where the decks are engaged.
    pub fn is_engaged(&self, at: i64, sample_rate: f64) -> bool {
        let at_s = at as f64 / sample_rate;
        (self.engaged_s.0..self.engaged_s.1).contains(&at_s)
    }

    fn switch(&mut self, at_s: f64, id: &'static str, value: f64) {
        self.switches.push(Switch { at_s, id, value });
        self.switches.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    }

    /// Samples that the transport runs before the file begins: a bar, in which a pass at the front is cued.
    pub fn pre_roll(&self, sample_rate: f64) -> usize {
        let bar_s = self.bars.seconds(1.0) - self.bars.seconds(0.0);
        (bar_s * sample_rate).ceil() as usize
    }

    /// Sets every control to its first value.
    pub fn prepare(&self, instance: &mut Instance) -> Result<()> {
        if let Some(start) = &self.start {
            instance.call_up(start)?;
        }
        for control in &self.constants {
            match control {
                Control::Number(id, value) => instance.set(id, *value)?,
                Control::Word(id, word) => instance.set_text(id, word)?,
            }
        }
        Ok(())
    }

    /// What is set on sample `at` of the file.
    pub fn changes_at(&self, at: i64, sample_rate: f64) -> Vec<(&'static str, f64)> {
        let switched = self.switches.iter();
        let switched = switched.filter(|switch| sample(switch.at_s, sample_rate) == at);
        let mut changes: Vec<_> = switched.map(|switch| (switch.id, switch.value)).collect();
        if at >= 0 {
            let bar = self.bars.bar(at as f64 / sample_rate);
            let lines = self.lines.iter();
            let lines = lines.filter(|(_, line)| at == 0 || !line.is_constant());
            changes.extend(lines.map(|(id, line)| (*id, line.at(bar))));
        }
        changes
    }

    /// Samples from `at` on until something is set again, at most a block.
    pub fn until_next(&self, at: i64, sample_rate: f64) -> usize {
        let is_moving = self.lines.iter().any(|(_, line)| !line.is_constant());
        let most = if is_moving { LINE_STEP } else { BLOCK };
        let switches = self.switches.iter();
        let switches = switches.map(|switch| sample(switch.at_s, sample_rate));
        let next = switches.chain([0]).filter(|next| *next > at).min();
        next.map_or(most, |next| most.min((next - at) as usize))
    }
}

fn sample(seconds: f64, sample_rate: f64) -> i64 {
    (seconds * sample_rate).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_hosting::Tempo;

    const BARS: Bars = Bars {
        tempo: Tempo::steady(120.0),
        beats_per_bar: 4,
        first_s: 0.0,
    };

    #[test]
    fn a_pass_is_cued_half_a_beat_before_its_bar() {
        let mut automation = Automation::new(BARS, Vec::new());
        automation.start_on_bar(2.0);
        assert_eq!(automation.changes_at(84_000, 48_000.0), [("start", 1.0)]);
        assert_eq!(automation.changes_at(90_000, 48_000.0), [("start", 0.0)]);
        assert_eq!(automation.until_next(83_990, 48_000.0), 10);
        assert_eq!(automation.until_next(84_000, 48_000.0), BLOCK);
    }

    #[test]
    fn lines_begin_with_the_file() {
        let mut automation = Automation::new(BARS, Vec::new());
        automation.add_line(
            "drag",
            AutomationLine::parse("1:50,2:0", 100.0).unwrap(),
            0.0,
        );
        assert!(automation.changes_at(-1, 48_000.0).is_empty());
        assert_eq!(automation.changes_at(48_000, 48_000.0), [("drag", 25.0)]);
        assert_eq!(automation.until_next(-10, 48_000.0), 10);
    }
}
