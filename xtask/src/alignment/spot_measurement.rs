//! What the plugin measured on a take with one spot, as numbers instead of the words of its saved state.

use plumbline_dsp::measurement::{Hit, HitOutcome, Lag, Polarity, Refused, Voice, VoiceName};
use plumbline_hosting::{LoggedHit, SavedMeasurement};

/// Everything the plugin reports after a take.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SpotMeasurement {
    /// Counted hits of the spot's own drum.
    pub hits: u32,
    /// Hits that were not counted.
    pub refused: Refused,
    /// Second minus first.
    pub gap: Option<Lag>,
    /// First minus spot.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot.
    pub spot_to_second: Option<Lag>,
    /// The drums told apart, the spot's own first.
    pub voices: Vec<Voice>,
    /// Every hit of the take.
    pub log: Vec<Hit>,
    /// Reach that the anchor wants and was not given, seconds.
    pub missing_reach_s: f64,
}

impl SpotMeasurement {
    /// Takes over what the plugin says by now; its log holds only the newest hits, so earlier ones are kept.
    pub fn update(&mut self, saved: &SavedMeasurement) {
        self.hits = saved.hits;
        self.refused = Refused {
            clipped: saved.refused.clipped,
            crowded: saved.refused.crowded,
            buried: saved.refused.buried,
        };
        self.gap = saved.gap.as_ref().map(lag);
        self.spot_to_first = saved.spot_to_first.as_ref().map(lag);
        self.spot_to_second = saved.spot_to_second.as_ref().map(lag);
        self.voices = saved.voices.iter().map(voice).collect();
        self.missing_reach_s = saved.missing_reach_s;
        if let Some(oldest) = saved.log.first() {
            self.log.retain(|hit| hit.at_s < oldest.at_s);
        }
        self.log.extend(saved.log.iter().map(hit));
    }

    /// Seconds of the counted hits of the spot's own drum.
    pub fn own_hits_s(&self) -> Vec<f64> {
        let own = |hit: &&Hit| matches!(hit.outcome, HitOutcome::Counted { voice: 0, .. });
        self.log.iter().filter(own).map(|hit| hit.at_s).collect()
    }

    /// The same take counted from an earlier start.
    pub fn started_earlier(mut self, by_s: f64) -> Self {
        self.log.iter_mut().for_each(|hit| hit.at_s += by_s);
        self
    }
}

fn lag(saved: &plumbline_hosting::Lag) -> Lag {
    let polarity = match saved.polarity.as_str() {
        "same" => Polarity::Same,
        "inverted" => Polarity::Inverted,
        _ => Polarity::Undecided,
    };
    let plumbline_hosting::Lag {
        attack_s,
        body_s,
        spread_s,
        confidence,
        ..
    } = *saved;
    Lag {
        attack_s,
        body_s,
        spread_s,
        polarity,
        confidence,
    }
}

fn voice(saved: &plumbline_hosting::Voice) -> Voice {
    let name = match saved.name.as_str() {
        "spot" => VoiceName::Spot,
        "low" => VoiceName::Low,
        "middle" => VoiceName::Middle,
        _ => VoiceName::High,
    };
    Voice {
        name,
        hits: saved.hits,
        gap_s: saved.gap_s,
        spread_s: saved.spread_s,
    }
}

fn hit(saved: &LoggedHit) -> Hit {
    let outcome = match (saved.outcome.as_str(), saved.voice, saved.gap_s) {
        ("counted", Some(voice), Some(gap_s)) => HitOutcome::Counted {
            voice,
            gap_s,
            spot_to_first_s: saved.spot_to_first_s.unwrap_or(0.0),
        },
        ("clipped", ..) => HitOutcome::Clipped,
        ("crowded", ..) => HitOutcome::Crowded,
        _ => HitOutcome::Buried,
    };
    Hit {
        at_s: saved.at_s,
        outcome,
    }
}
