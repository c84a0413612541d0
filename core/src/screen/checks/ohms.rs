//! What an ohmmeter should show before power comes back, beside what it shows; and why a load shows.

use crate::circuit::{NoOhms, Ohms, Value};
use crate::job::{At, Pair};
use crate::predict::Predictor;
use crate::words::say;

use super::bench::Bench;

/// Loads that are named one by one.
const MOST_LOADS: usize = 4;

/// Resistances with everything OFF that is noted as OFF.
pub(super) struct Resistances<'b, 'v> {
    bench: &'b Bench<'v>,
    predictor: Option<Predictor>,
    off: Vec<At>,
}

impl<'b, 'v> Resistances<'b, 'v> {
    pub(super) fn of(bench: &'b Bench<'v>) -> Self {
        let predictor = bench.predictor();
        let is_off = |id| bench.checks.hold(id).off_since.is_some();
        let off = predictor.as_ref().map(|predictor| predictor.off(is_off)).unwrap_or_default();
        Self { bench, predictor, off }
    }

    /// "worked out 31.8 to 42.0 Ω", or that nothing can be.
    pub(super) fn words(&self, pair: &Pair) -> String {
        let worked = self.predictor.as_ref().map(|predictor| predictor.ohms(pair, &self.off));
        match worked {
            Some(Ok(ohms)) => say("checks.live.interval", &[("interval", &interval(&ohms))]),
            Some(Err(NoOhms::Live)) => say("checks.ready.not_dead", &[]),
            _ => say("checks.live.no_interval", &[]),
        }
    }

    /// That it may read lower where the map ends.
    pub(super) fn second(&self, pair: &Pair) -> String {
        let worked = self.predictor.as_ref().and_then(|predictor| predictor.ohms(pair, &self.off).ok());
        let open = worked.is_some_and(|ohms| !ohms.touched.is_empty());
        if open { say("checks.ready.map_ends", &[]) } else { String::new() }
    }

    /// The loads that show between the two spots, each with what it draws its current through when it runs.
    pub(super) fn loads(&self, pair: &Pair) -> Option<String> {
        let predictor = self.predictor.as_ref()?;
        let loads = self.bench.checks.loads_between(pair);
        let each = loads.iter().filter_map(|load| {
            let element = predictor.circuit().loads.get(load)?.element?;
            let Value::Load { ohms, .. } = predictor.circuit().network.element(element)?.value else { return None };
            let name = self.bench.called.load(load);
            Some(say("checks.ready.load", &[("load", &name), ("ohms", &number(ohms))]))
        });
        let each: Vec<String> = each.take(MOST_LOADS).collect();
        (!each.is_empty()).then(|| say("checks.ready.loads_show", &[("loads", &each.join("; "))]))
    }
}

fn interval(ohms: &Ohms) -> String {
    if ohms.is_over {
        return say("tell.over_range", &[]);
    }
    let high = if ohms.may_be_over { say("tell.over_range", &[]) } else { number(ohms.high_ohms) };
    say("checks.ready.range", &[("low", &number(ohms.low_ohms)), ("high", &high)])
}

/// Ohms as a meter shows them.
fn number(ohms: f64) -> String {
    if ohms >= 1e6 {
        format!("{:.1} MΩ", ohms / 1e6)
    } else if ohms >= 1e3 {
        format!("{:.1} kΩ", ohms / 1e3)
    } else if ohms >= 100.0 {
        format!("{ohms:.0} Ω")
    } else {
        format!("{ohms:.1} Ω")
    }
}
