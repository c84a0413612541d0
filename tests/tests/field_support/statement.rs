//! What a case states of a variant, and whether it is so.

use boxproof_core::circuit::{
    Ask, Connectivity, LoadNode, Network, Part, Power, Settled, Solver, SourceVolts, State, expect,
};
use boxproof_core::job::{LoadPoint, Mode, Pair, Spot, Tip};
use boxproof_core::token::Line;

use super::Stage;

/// Whether a statement holds, and what there is instead.
pub(crate) struct Outcome {
    pub(crate) holds: bool,
    pub(crate) got: String,
}

/// Hazards that a case may name. A name that is not here is a slip of the pen: "no hazard" of it would always hold.
const HAZARDS: &[&str] = &[
    "short",
    "supplies-meet",
    "sources-meet",
    "energised-ground",
    "broken-ground",
    "neutral-grounded",
    "switched-neutral",
    "reversed-polarity",
    "across-legs",
    "borrowed-neutral",
    "shared-neutral-overload",
    "neutral-rises",
    "gfci-cannot-see",
    "gfci-always-trips",
    "loads-in-series",
    "fed-through",
    "live-loose",
    "loose",
    "stays-live",
    "conductors-apart",
    "not-every-position",
];

const NO_STATEMENT: &str = "that is no statement; see tests/field/README.md";

/// What a load point may be.
const POWERS: &[&str] = &["off", "weak", "on", "over", "unsettled"];

impl Stage {
    /// Judges one statement. An error says why it is none.
    pub(crate) fn check(&self, said: &Line) -> Result<Outcome, String> {
        let words: Vec<&str> = said.words.iter().map(String::as_str).collect();
        match (said.verb.as_str(), words.as_slice()) {
            ("lit", [load, lit, "of", all]) => self.lit(said, load, lit, all),
            ("is", [load, power]) if POWERS.contains(power) => self.is(said, load, power),
            ("across", [load, amount @ ..]) => self.across(said, load, amount),
            ("reads", [from, to, amount @ ..]) => self.reads(said, (from, to), amount),
            ("clamp", [wire, amount @ ..]) => self.clamp(said, wire, amount),
            ("joined" | "apart", [from, to]) => self.joined(said, (from, to)),
            ("hazard", [kind]) if HAZARDS.contains(kind) => {
                let found = self.hazards(kind, said)?;
                Ok(Outcome { holds: !found.is_empty(), got: "there is none".to_owned() })
            }
            ("no", ["hazard", kind]) if HAZARDS.contains(kind) => {
                let found = self.hazards(kind, said)?;
                Ok(Outcome { holds: found.is_empty(), got: format!("there is {found:?}") })
            }
            _ => self.operated(said, &words).unwrap_or_else(|| Err(NO_STATEMENT.to_owned())),
        }
    }

    pub(super) fn load(&self, name: &str) -> Result<(LoadPoint, &LoadNode), String> {
        let point = self.names().load(name).map_err(|why| why.to_string())?;
        let node = self.circuit.loads.get(&point).ok_or_else(|| format!("{name} is not in the circuit"))?;
        Ok((point, node))
    }

    /// What a load point has, in the words of [`POWERS`], and its volts.
    pub(super) fn power(&self, load: &LoadNode, settled: &Settled<'_>) -> (&'static str, f64) {
        let (power, volts) = self.circuit.power(load, settled);
        // A burnt-out lamp and electronics that stopped have volts at times, and do nothing.
        let idle = load.element.is_some_and(|element| settled.solution.amperes(element).norm() < 1e-9);
        let power = match power {
            Power::Unsettled => "unsettled",
            _ if idle => "off",
            Power::Off | Power::Tripped => "off",
            Power::Weak => "weak",
            Power::On => "on",
            Power::Over => "over",
        };
        (power, volts)
    }

    fn powers(&self, said: &Line, name: &str) -> Result<Vec<(&'static str, f64)>, String> {
        let (point, load) = self.load(name)?;
        let states = self.states(&point, &self.at(said)?);
        let solver = Solver::new(&self.circuit.network);
        Ok(states.iter().map(|state| self.power(load, &self.circuit.settle(&solver, state))).collect())
    }

    /// `lit B7:light.lamp 1 of 4`: in so many of the positions that are left open it has power enough to be seen on.
    fn lit(&self, said: &Line, load: &str, lit: &str, all: &str) -> Result<Outcome, String> {
        let powers = self.powers(said, load)?;
        let count = powers.iter().filter(|(power, _)| matches!(*power, "on" | "over")).count();
        let got = format!("{count} of {}", powers.len());
        Ok(Outcome { holds: got == format!("{lit} of {all}"), got: format!("{got}: {powers:?}") })
    }

    /// `is B7:light.lamp off at=B3:switch.handle=up`: in every position that is left open.
    fn is(&self, said: &Line, load: &str, wanted: &str) -> Result<Outcome, String> {
        let powers = self.powers(said, load)?;
        Ok(Outcome { holds: powers.iter().all(|(power, _)| *power == wanted), got: format!("{powers:?}") })
    }

    /// `across B7:light.lamp about 40 V`: volts at the load itself, in every position that is left open.
    fn across(&self, said: &Line, load: &str, amount: &[&str]) -> Result<Outcome, String> {
        let amount = Amount::read(amount, "V")?;
        let powers = self.powers(said, load)?;
        let holds = powers.iter().all(|(_, volts)| amount.holds(*volts, interval(*volts)));
        Ok(Outcome { holds, got: format!("{powers:?}") })
    }

    /// `reads B1:receptacle.neutral_1 B1:receptacle.ground about 70 V mode=high`: what a meter shows. A meter of
    /// another make: `burden=` its ohms.
    fn reads(&self, said: &Line, (from, to): (&str, &str), amount: &[&str]) -> Result<Outcome, String> {
        let amount = Amount::read(amount, "V")?;
        let mode = match said.field("mode") {
            Some("high") => Mode::AcHigh,
            Some("low") => Mode::AcLow,
            _ => return Err("mode=high or mode=low?".to_owned()),
        };
        let ohms = said.field("burden").map(|ohms| ohms.parse().map_err(|_| format!("{ohms} is no number of ohms")));
        let pair = Pair { from: self.spot(from)?, to: self.spot(to)? };
        let at = self.at(said)?;
        let ask = Ask { pair: &pair, at: &at, mode, burden_ohms: ohms.transpose()? };
        let read = expect(&self.circuit, &SourceVolts::of(&self.circuit), &ask).map_err(|why| format!("{why:?}"))?;
        let predicted = (read.volts.low, read.volts.high);
        let ghost = if read.ghost { ", a ghost" } else { "" };
        let got = format!("{:.2} V, from {:.2} to {:.2}{ghost}", read.nominal, predicted.0, predicted.1);
        Ok(Outcome { holds: amount.holds(read.nominal, predicted), got })
    }

    /// `clamp B1/A/white about 0.5 A`: amperes in one conductor.
    fn clamp(&self, said: &Line, wire: &str, amount: &[&str]) -> Result<Outcome, String> {
        let amount = Amount::read(amount, "A")?;
        let Tip::Wire { run, wire, .. } = self.names().tip(wire).map_err(|why| why.to_string())? else {
            return Err("a clamp goes around a conductor of a run".to_owned());
        };
        let conductor = Part::Conductor { run, wire };
        let element = self.circuit.elements_where(|part| *part == conductor).into_iter().next();
        let element = element.ok_or("the conductor is not in the circuit")?;
        let (solver, state) = (Solver::new(&self.circuit.network), self.state(said)?);
        let amperes = self.circuit.settle(&solver, &state).solution.amperes(element).norm();
        Ok(Outcome { holds: amount.holds(amperes, interval(amperes)), got: format!("{amperes:.3} A") })
    }

    /// `joined B1~ P!ground`, `apart B1~ P!ground`: whether metal joins two points.
    fn joined(&self, said: &Line, (from, to): (&str, &str)) -> Result<Outcome, String> {
        let network: &Network = &self.circuit.network;
        let node = |name: &str| {
            let spot = self.spot(name)?;
            self.circuit.node(&spot).ok_or_else(|| format!("{name} is not in the circuit"))
        };
        let joined = Connectivity::new(network, &[]).at(&self.state(said)?).joined(node(from)?, node(to)?);
        let got = if joined { "metal joins them" } else { "no metal joins them" };
        Ok(Outcome { holds: joined == (said.verb == "joined"), got: got.to_owned() })
    }

    fn spot(&self, name: &str) -> Result<Spot, String> {
        super::fault::spot(&self.names(), name)
    }

    pub(super) fn state(&self, said: &Line) -> Result<State, String> {
        Ok(self.circuit.state(&self.at(said)?, self.circuit.rest()))
    }
}

/// What a report gives as a reading.
enum Amount {
    /// Said as one figure.
    About(f64),
    Under(f64),
    Over(f64),
    Between(f64, f64),
}

/// A figure of a report has the scatter of its instrument and of its source: 120 V is said of 114 to 126, and people
/// round. Common practice, no source.
const SCATTER_PART: f64 = 0.1;
const SCATTER: f64 = 1.0;

/// What is worked out without a meter is as far off as the source may be: ±5 %, ANSI C84.1 range A.
fn interval(value: f64) -> (f64, f64) {
    (value * 0.95, value * 1.05)
}

impl Amount {
    fn read(words: &[&str], unit: &str) -> Result<Self, String> {
        let number = |text: &str| text.parse::<f64>().map_err(|_| format!("{text} is no number"));
        match words {
            ["about", figure, of] if *of == unit => Ok(Self::About(number(figure)?)),
            ["under", most, of] if *of == unit => Ok(Self::Under(number(most)?)),
            ["over", least, of] if *of == unit => Ok(Self::Over(number(least)?)),
            ["from", least, "to", most, of] if *of == unit => Ok(Self::Between(number(least)?, number(most)?)),
            _ => Err(format!("about 70 {unit}, under 2 {unit}, over 100 {unit}, or from 40 to 80 {unit}")),
        }
    }

    /// One figure must lie within what is predicted, and the nominal value near it; a bound holds for the whole of
    /// what is predicted; of a range the nominal value must lie in it.
    fn holds(&self, nominal: f64, (low, high): (f64, f64)) -> bool {
        match *self {
            Self::About(figure) => {
                let near = (nominal - figure).abs() <= figure * SCATTER_PART + SCATTER;
                near && low - SCATTER <= figure && figure <= high + SCATTER
            }
            Self::Under(most) => high < most,
            Self::Over(least) => low > least,
            Self::Between(least, most) => (least..=most).contains(&nominal),
        }
    }
}
