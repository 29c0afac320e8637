//! Where the words of the plan stand: beside what they name, across nothing that is drawn.

use egui::{Align2, Pos2, Rect, Vec2};

/// Between two words, and between a word and a line, points.
const APART: f32 = 2.0;

/// What is drawn and written so far.
pub struct Labels {
    room: Rect,
    words: Vec<Rect>,
    lines: Vec<[Pos2; 2]>,
    /// Middle and radius.
    circles: Vec<(Pos2, f32)>,
}

impl Labels {
    /// Within a panel.
    pub fn new(room: Rect) -> Self {
        Self {
            room,
            words: Vec::new(),
            lines: Vec::new(),
            circles: Vec::new(),
        }
    }

    /// Something is written here.
    pub fn word(&mut self, rect: Rect) {
        self.words.push(rect);
    }

    pub fn line(&mut self, from: Pos2, to: Pos2) {
        self.lines.push([from, to]);
    }

    pub fn circle(&mut self, middle: Pos2, radius: f32) {
        self.circles.push((middle, radius));
    }

    /// The first of these places that crosses nothing; it is taken from now on.
    pub fn place(&mut self, size: Vec2, places: &[(Pos2, Align2)]) -> Option<(Pos2, Align2)> {
        let free = |(at, hang): &&(Pos2, Align2)| self.is_free(hang.anchor_size(*at, size));
        let &(at, hang) = places.iter().find(free)?;
        self.word(hang.anchor_size(at, size));
        Some((at, hang))
    }

    /// The same, and where nothing is free the first place all the same.
    pub fn place_anyhow(&mut self, size: Vec2, places: &[(Pos2, Align2)]) -> (Pos2, Align2) {
        self.place(size, places).unwrap_or_else(|| {
            let (at, hang) = places[0];
            self.word(hang.anchor_size(at, size));
            (at, hang)
        })
    }

    fn is_free(&self, rect: Rect) -> bool {
        let wide = rect.expand(APART);
        let crosses = |[from, to]: &[Pos2; 2]| wide.intersects_segment(*from, *to);
        self.room.contains_rect(rect)
            && !self.words.iter().any(|word| word.intersects(wide))
            && !self.lines.iter().any(crosses)
            && !self.circles.iter().any(|circle| wide.is_cut_by(*circle))
    }
}

/// What lines and circles do to a rectangle.
trait Crossed {
    fn intersects_segment(&self, from: Pos2, to: Pos2) -> bool;
    fn is_cut_by(&self, circle: (Pos2, f32)) -> bool;
}

impl Crossed for Rect {
    /// By the part of the line that lies within both pairs of edges (Liang and Barsky 1984).
    fn intersects_segment(&self, from: Pos2, to: Pos2) -> bool {
        let way = to - from;
        let mut inside = (0.0_f32, 1.0_f32);
        let edges = [
            (way.x, self.min.x - from.x, self.max.x - from.x),
            (way.y, self.min.y - from.y, self.max.y - from.y),
        ];
        for (way, low, high) in edges {
            if way.abs() < 1e-6 {
                if low > 0.0 || high < 0.0 {
                    return false;
                }
                continue;
            }
            let (enters, leaves) = (low / way, high / way);
            inside.0 = inside.0.max(enters.min(leaves));
            inside.1 = inside.1.min(enters.max(leaves));
        }
        inside.0 <= inside.1
    }

    /// The outline passes through it.
    fn is_cut_by(&self, (middle, radius): (Pos2, f32)) -> bool {
        let nearest = self.distance_to_pos(middle);
        let corners = [
            self.left_top(),
            self.right_top(),
            self.left_bottom(),
            self.right_bottom(),
        ];
        let farthest = corners.map(|corner| corner.distance(middle));
        nearest < radius && radius < farthest.into_iter().fold(0.0, f32::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::{pos2, vec2};

    fn labels() -> Labels {
        let mut labels = Labels::new(Rect::from_min_max(pos2(0.0, 0.0), pos2(200.0, 100.0)));
        labels.line(pos2(0.0, 50.0), pos2(200.0, 60.0));
        labels.circle(pos2(100.0, 20.0), 15.0);
        labels.word(Rect::from_min_size(pos2(10.0, 10.0), vec2(30.0, 10.0)));
        labels
    }

    #[test]
    fn a_word_crosses_nothing() {
        let size = vec2(20.0, 10.0);
        for (middle, is_free) in [
            ((160.0, 20.0), true),
            ((100.0, 20.0), true),  // inside the circle
            ((100.0, 34.0), false), // its outline
            ((100.0, 55.0), false), // the line
            ((30.0, 15.0), false),  // the other word
            ((195.0, 20.0), false), // out of the room
            ((160.0, 80.0), true),
        ] {
            let at = [(pos2(middle.0, middle.1), Align2::CENTER_CENTER)];
            let placed = labels().place(size, &at);
            assert_eq!(placed.is_some(), is_free, "{middle:?}");
        }
    }

    #[test]
    fn the_first_free_place_is_taken_once() {
        let mut labels = labels();
        let size = vec2(20.0, 10.0);
        let places = [
            (pos2(100.0, 55.0), Align2::CENTER_CENTER),
            (pos2(100.0, 80.0), Align2::CENTER_CENTER),
        ];
        assert_eq!(labels.place(size, &places), Some(places[1]));
        assert_eq!(labels.place(size, &places), None);
    }
}
