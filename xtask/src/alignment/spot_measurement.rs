//! What the plugin measured on a take with one spot, as numbers instead of the words of its saved state.

use plumbline_dsp::drum_names::{DrumName, Reason, drum_name, with_article};
use plumbline_dsp::measurement::{
    Drum, DrumKind, Hit, HitOutcome, KINDS, Lag, MAX_DRUMS, Measurement, Polarity, Refused, Why,
};
use plumbline_hosting::{LoggedHit, SavedMeasurement};

/// Everything the plugin reports after a take.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SpotMeasurement {
    /// Counted hits of the drum that is aligned.
    pub hits: u32,
    /// Hits that were not counted.
    pub refused: Refused,
    /// Second minus first.
    pub gap: Option<Lag>,
    /// First minus spot.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot.
    pub spot_to_second: Option<Lag>,
    /// The drums told apart.
    pub drums: Vec<Drum>,
    /// Index into the drums of the one that is aligned.
    pub chosen: Option<u8>,
    /// Why it is that one.
    pub why: Why,
    /// Index into the drums of the one that the spot stands at.
    pub spots_own: Option<u8>,
    /// The spot heard something in the hits.
    pub spot_heard: bool,
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
            buried: saved.refused.buried,
        };
        self.gap = saved.gap.as_ref().map(lag);
        self.spot_to_first = saved.spot_to_first.as_ref().map(lag);
        self.spot_to_second = saved.spot_to_second.as_ref().map(lag);
        self.drums = saved.drums.iter().map(drum).collect();
        self.chosen = saved.chosen;
        self.why = why(&saved.why);
        self.spots_own = saved.spots_own;
        self.spot_heard = saved.spot_heard;
        self.missing_reach_s = saved.missing_reach_s;
        if let Some(oldest) = saved.log.first() {
            self.log.retain(|hit| hit.at_s < oldest.at_s);
        }
        self.log.extend(saved.log.iter().map(hit));
    }

    /// The drum that is aligned.
    pub fn chosen(&self) -> Option<&Drum> {
        self.drums.get(usize::from(self.chosen?))
    }

    /// The drum that the spot stands at.
    pub fn spots_own(&self) -> Option<&Drum> {
        self.drums.get(usize::from(self.spots_own?))
    }

    /// What a drum is called.
    pub fn name(&self, drum: &Drum) -> DrumName {
        drum_name(drum, &self.drums)
    }

    /// What the drum that is aligned is called, with its article.
    pub fn chosen_name(&self) -> String {
        match self.chosen() {
            Some(drum) => with_article(&self.name(drum).to_string()),
            None => "the hits".to_owned(),
        }
    }

    /// Why the drum that is aligned is the one, as a sentence.
    pub fn reason(&self) -> String {
        let mut measurement = Measurement {
            chosen: self.chosen,
            why: self.why,
            spots_own: self.spots_own,
            spot_heard: self.spot_heard,
            drum_count: self.drums.len().min(MAX_DRUMS) as u8,
            ..Measurement::default()
        };
        for (entry, drum) in measurement.drums.iter_mut().zip(&self.drums) {
            *entry = *drum;
        }
        Reason(&measurement).sentence()
    }

    /// Seconds of the counted hits of the drum that is aligned.
    pub fn own_hits_s(&self) -> Vec<f64> {
        let chosen = self.chosen().map(|drum| drum.number);
        let own = |hit: &&Hit| matches!(hit.outcome, HitOutcome::Counted { drum, .. } if Some(drum) == chosen);
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
        polarity_odds,
        confidence,
        ..
    } = *saved;
    Lag {
        attack_s,
        body_s,
        spread_s,
        polarity,
        polarity_odds,
        confidence,
    }
}

fn drum(saved: &plumbline_hosting::Drum) -> Drum {
    let known = KINDS.into_iter().find(|kind| kind.word() == saved.kind);
    Drum {
        number: saved.number,
        kind: known.unwrap_or(DrumKind::Other),
        hits: saved.hits,
        gap: saved.gap.as_ref().map(lag),
        spot_to_first: saved.spot_to_first.as_ref().map(lag),
        spot_to_second: saved.spot_to_second.as_ref().map(lag),
        ..Drum::default()
    }
}

fn why(word: &str) -> Why {
    let reasons = [
        Why::Asked,
        Why::AskedNotHeard,
        Why::SpotsOwn,
        Why::ChannelsOwn,
        Why::Snare,
        Why::MostHits,
    ];
    let known = reasons.into_iter().find(|why| why.word() == word);
    known.unwrap_or_default()
}

fn hit(saved: &LoggedHit) -> Hit {
    let outcome = match (saved.outcome.as_str(), saved.drum) {
        ("counted", Some(drum)) => HitOutcome::Counted {
            drum,
            gap_s: saved.gap_s,
        },
        ("clipped", ..) => HitOutcome::Clipped,
        _ => HitOutcome::Buried,
    };
    Hit {
        at_s: saved.at_s,
        outcome,
    }
}
