//! What was read and tried live, for the commands that set it beside what was worked out.

use boxproof_core::catalogue::Catalogue;
use boxproof_core::check::{Checks, Disagreement, Observed, Policy};
use boxproof_core::job::{JobNote, Layer, Notes, ThingId, Wiring};
use boxproof_core::name::Called;
use boxproof_core::tell::{ObservedWords, reading_words, trial_words};
use boxproof_core::words::say;

/// The wirings of a job in which its things have names, the one to look in first first.
pub(crate) struct Wirings {
    all: Vec<Wiring>,
}

impl Wirings {
    /// The wiring of `layer`, and those of the job's other layers behind it.
    pub(crate) fn of(notes: &Notes, layer: Layer, job: Option<ThingId>) -> Self {
        let mut layers = vec![layer];
        if let Some(job) = job {
            layers.extend([Layer::Left(job), Layer::Planned(job), Layer::Found(job)]);
        }
        let mut all: Vec<Wiring> = Vec::new();
        for layer in layers {
            if all.iter().all(|wiring| wiring.layer != layer) {
                all.push(Wiring::of(notes, layer));
            }
        }
        Self { all }
    }

    /// Names in the first wiring that has all of these things; in the first one if none has.
    fn naming(&self, things: &[ThingId]) -> Option<Called<'_>> {
        let has = |wiring: &&Wiring| {
            things.iter().all(|id| {
                wiring.devices.contains_key(id) || wiring.splices.contains_key(id) || wiring.runs.contains_key(id)
            })
        };
        let wiring = self.all.iter().find(has).or(self.all.first())?;
        Some(Called::new(wiring, Catalogue::shared()))
    }

    /// Something observed, in words.
    pub(crate) fn words(&self, observed: &Observed) -> ObservedWords {
        match observed {
            Observed::Reading(at, taken) => {
                let reading = &taken.reading;
                let mut things: Vec<ThingId> = reading.at.iter().map(|at| at.handle.device).collect();
                things.extend([&reading.pair.from, &reading.pair.to].into_iter().filter_map(thing));
                self.naming(&things).map(|called| reading_words(&called, Some(*at), reading)).unwrap_or_default()
            }
            Observed::Trial(tried) => {
                let trial = &tried.trial;
                let mut things: Vec<ThingId> = trial.at.iter().map(|at| at.handle.device).collect();
                things.push(trial.load.device);
                self.naming(&things).map(|called| trial_words(&called, trial)).unwrap_or_default()
            }
        }
    }
}

fn thing(spot: &boxproof_core::job::Spot) -> Option<ThingId> {
    use boxproof_core::job::{Spot, Tip};
    match spot {
        Spot::Splice(id)
        | Spot::Terminal { device: id, .. }
        | Spot::Tip(Tip::Wire { run: id, .. } | Tip::Lead { device: id, .. }) => Some(*id),
        Spot::Shell(_) | Spot::Bus { .. } | Spot::Other(_) => None,
    }
}

/// What disagrees, those that stand and those that ended.
pub(crate) struct Disagreements {
    /// They stand.
    pub(crate) stand: Vec<String>,
    /// The same point agreed later.
    pub(crate) ended: Vec<String>,
}

/// Everything that was read or tried live and was not as worked out. `key` words one that stands.
pub(crate) fn disagreements(notes: &Notes, layer: Layer, job: Option<ThingId>, key: &str) -> Disagreements {
    let wirings = Wirings::of(notes, layer, job);
    let mut found = Disagreements { stand: Vec::new(), ended: Vec::new() };
    let Some(wiring) = wirings.all.first() else { return found };
    let policy = job.map_or_else(Policy::shared, |job| Policy::of(&JobNote::read(notes, job)));
    let checks = Checks::new(notes, wiring, Catalogue::shared(), policy);
    for Disagreement { observed, ended } in checks.disagreements() {
        let words = wirings.words(&observed);
        let when = match &observed {
            Observed::Reading(_, taken) => taken.when,
            Observed::Trial(tried) => tried.when,
        };
        let time = when.wall.clock();
        let end = ended.map(|ended| ended.wall.clock()).unwrap_or_default();
        let fill = [
            ("time", time.as_str()),
            ("what", &words.what),
            ("seen", &words.seen),
            ("shown", &words.shown),
            ("ended", &end),
        ];
        if ended.is_some() {
            found.ended.push(say("desk.observed.ended", &fill));
        } else {
            found.stand.push(say(key, &fill));
        }
    }
    found
}
