//! An automation line as it is typed: one value, or points BAR:VALUE joined by straight lines.

/// A line over the song. Before its first point and after its last one it is level.
#[derive(Clone, Debug, PartialEq)]
pub struct AutomationLine {
    /// Bar and value, bars never going back.
    points: Vec<(f64, f64)>,
}

impl AutomationLine {
    /// Reads `0.5` or `3:-2,5:0,7:2`; every value lies within `most` of zero.
    ///
    /// # Errors
    ///
    /// In words that say what is wrong with it.
    pub fn parse(text: &str, most: f64) -> Result<Self, String> {
        let words: Vec<&str> = text
            .split([',', ' '])
            .filter(|word| !word.is_empty())
            .collect();
        let points = match words.as_slice() {
            [] => return Err("a value or points BAR:VALUE are needed".to_owned()),
            [value] if !value.contains(':') => vec![(1.0, number(value)?)],
            points => points
                .iter()
                .map(|point| self::point(point))
                .collect::<Result<_, _>>()?,
        };
        check(&points, most)?;
        Ok(Self { points })
    }

    /// Bar and value of every point.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// The value at a bar.
    pub fn at(&self, bar: f64) -> f64 {
        let next = self.points.partition_point(|(at, _)| *at <= bar);
        let (last, after) = (next.checked_sub(1), self.points.get(next));
        match (last.map(|last| self.points[last]), after.copied()) {
            (Some((from, a)), Some((to, b))) => a + (b - a) * (bar - from) / (to - from),
            (Some((_, value)), None) | (None, Some((_, value))) => value,
            (None, None) => 0.0,
        }
    }

    /// True when it is one value from front to end.
    pub fn is_constant(&self) -> bool {
        self.points
            .iter()
            .all(|(_, value)| *value == self.points[0].1)
    }
}

fn point(text: &str) -> Result<(f64, f64), String> {
    let (bar, value) = text
        .split_once(':')
        .ok_or_else(|| format!("{text:?} is no point: write BAR:VALUE, as in 5:0"))?;
    Ok((number(bar)?, number(value)?))
}

fn number(text: &str) -> Result<f64, String> {
    let number: Option<f64> = text.trim().parse().ok();
    number
        .filter(|number| number.is_finite())
        .ok_or_else(|| format!("{text:?} is not a number"))
}

fn check(points: &[(f64, f64)], most: f64) -> Result<(), String> {
    if let Some(two) = points.windows(2).find(|two| two[1].0 < two[0].0) {
        return Err(format!("bar {} comes after bar {}", two[1].0, two[0].0));
    }
    match points.iter().find(|(_, value)| value.abs() > most) {
        Some((_, value)) => Err(format!("{value} is not within -{most} to {most}")),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_between_its_points_and_level_outside() {
        let line = AutomationLine::parse("3:-2, 5:0 7:2", 12.0).unwrap();
        for (bar, value) in [
            (1.0, -2.0),
            (3.0, -2.0),
            (4.0, -1.0),
            (5.0, 0.0),
            (9.0, 2.0),
        ] {
            assert_eq!(line.at(bar), value, "bar {bar}");
        }
        let level = AutomationLine::parse("-0.5", 12.0).unwrap();
        assert!(level.is_constant() && level.at(-3.0) == -0.5 && level.at(8.0) == -0.5);
    }

    #[test]
    fn two_points_on_one_bar_are_a_step() {
        let step = AutomationLine::parse("2:0,2:50", 100.0).unwrap();
        assert_eq!((step.at(1.999), step.at(2.0)), (0.0, 50.0));
    }

    #[test]
    fn what_is_wrong_is_said() {
        for (text, says) in [
            ("", "needed"),
            ("five", "\"five\" is not a number"),
            ("3:1,4", "BAR:VALUE"),
            ("3:1,2:0", "bar 2 comes after bar 3"),
            ("13", "within -12 to 12"),
            ("1:nan", "not a number"),
        ] {
            let error = AutomationLine::parse(text, 12.0).unwrap_err();
            assert!(error.contains(says), "{text:?}: {error}");
        }
    }
}
