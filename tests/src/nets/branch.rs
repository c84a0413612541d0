//! A branch circuit: receptacles in a chain from the panel, and what hangs on them.

use boxproof_core::circuit::{NetworkError, NodeId, SwitchId};

use super::parts::{OHMS_PER_FOOT_12, OHMS_PER_FOOT_14, Parts, Three, Two};

/// Lights that two or three switches work.
#[derive(Debug, Clone, Copy)]
pub struct Stair {
    /// A four-way switch between the two three-way ones.
    pub four_way: bool,
    /// Lights in a chain behind the last switch.
    pub lights: usize,
}

/// What a branch circuit has.
#[derive(Debug, Clone)]
pub struct Branch {
    /// What its nodes' names begin with.
    pub name: String,
    /// Leg of the panel, 0 or 1.
    pub leg: usize,
    /// Receptacles in a chain; one at least.
    pub receptacles: usize,
    /// Fed from the receptacle in the middle.
    pub stair: Option<Stair>,
    /// A switch and its light behind the last receptacle.
    pub light: bool,
    /// A switch and a receptacle on one yoke, and its wall light, behind the last receptacle.
    pub combination: bool,
    /// From the panel to the first receptacle.
    pub home_run_feet: f64,
    /// Of its conductors.
    pub ohms_per_foot: f64,
}

impl Branch {
    /// A circuit with everything: 14 boxes with a four-way switch, 13 without.
    pub fn full(name: &str, leg: usize, home_run_feet: f64, four_way: bool) -> Self {
        Self {
            name: name.into(),
            leg,
            receptacles: 5,
            stair: Some(Stair { four_way, lights: 2 }),
            light: true,
            combination: true,
            home_run_feet,
            ohms_per_foot: OHMS_PER_FOOT_12,
        }
    }

    /// The `n`th circuit of a dwelling.
    pub fn of_dwelling(n: usize) -> Self {
        let (name, leg, kind) = (format!("circuit {} ", n + 1), n % 2, n % 24);
        if kind < 8 {
            return Self::full(&name, leg, 30.0 + 3.0 * crate::number(kind), kind % 2 == 0);
        }
        Self {
            name,
            leg,
            receptacles: if kind % 3 == 0 { 6 } else { 4 },
            stair: None,
            light: kind % 2 == 0,
            combination: kind % 4 == 3,
            home_run_feet: 20.0 + 2.5 * crate::number(kind),
            ohms_per_foot: if kind % 5 == 0 { OHMS_PER_FOOT_14 } else { OHMS_PER_FOOT_12 },
        }
    }

    /// Builds it. Its switches and its test load, in the order of the circuit.
    ///
    /// # Errors
    /// [`NetworkError`] if one of its values is none.
    pub fn into_parts(self, parts: &mut Parts) -> Result<Vec<SwitchId>, NetworkError> {
        parts.ohms_per_foot = self.ohms_per_foot;
        let mut switches = Vec::new();
        let breaker = parts.breaker(&self.say("breaker"), parts.bars.leg(self.leg))?;
        let [home, mut feed] = parts.two_wire(&self.say("home run"), self.home_run_feet)?;
        parts.land_in_panel(home, breaker)?;
        for n in 0..self.receptacles {
            let mut onward = Vec::new();
            if let Some(stair) = self.stair.filter(|_| n == self.receptacles / 2) {
                let [near, far] = parts.two_wire(&self.say("stair feed"), 10.0)?;
                onward.push(near);
                switches.extend(self.stair(parts, stair, far)?);
            }
            let mut next = feed;
            if n + 1 < self.receptacles {
                let [near, far] = parts.two_wire(&self.say(&format!("chain {}", n + 2)), 12.0)?;
                onward.push(near);
                next = far;
            } else {
                for (wanted, name, feet, watts) in
                    [(self.light, "light", 9.0, 60.0), (self.combination, "wall light", 16.0, 40.0)]
                {
                    if wanted {
                        let [near, far] = parts.two_wire(&self.say(&format!("{name} feed")), feet)?;
                        onward.push(near);
                        switches.push(self.switch_and_light(parts, name, far, watts)?);
                    }
                }
            }
            let [brass, silver] = self.receptacle(parts, n + 1, feed, &onward)?;
            if n + 1 == self.receptacles {
                switches.push(parts.test_load(brass, silver, 1440.0)?);
            }
            feed = next;
        }
        Ok(switches)
    }

    fn say(&self, what: &str) -> String {
        format!("{}{what}", self.name)
    }

    /// A box with a receptacle on pigtails: its hot and its neutral terminal.
    fn receptacle(&self, parts: &mut Parts, n: usize, feed: Two, onward: &[Two]) -> Result<[NodeId; 2], NetworkError> {
        let mut terminal = |name: &str, end: fn(&Two) -> NodeId| {
            let ends: Vec<NodeId> = std::iter::once(&feed).chain(onward).map(end).collect();
            let splice = parts.splice(self.say(&format!("R{n} {name}s")), &ends)?;
            parts.pigtail(splice, self.say(&format!("R{n} {name}")))
        };
        let [hot, neutral] = [terminal("hot", |two| two.black)?, terminal("neutral", |two| two.white)?];
        terminal("ground", |two| two.ground)?;
        parts.boxes += 1;
        Ok([hot, neutral])
    }

    /// A box with splices of white and ground and a pigtail to the switch's ground screw.
    fn switch_box(
        &self,
        parts: &mut Parts,
        name: &str,
        whites: [NodeId; 2],
        grounds: [NodeId; 2],
    ) -> Result<NodeId, NetworkError> {
        let neutral = parts.splice(self.say(&format!("{name} neutrals")), &whites)?;
        let ground = parts.splice(self.say(&format!("{name} grounds")), &grounds)?;
        parts.pigtail(ground, self.say(&format!("{name} switch ground")))?;
        parts.boxes += 1;
        Ok(neutral)
    }

    /// Three-way, perhaps four-way, three-way, and the lights behind them.
    fn stair(&self, parts: &mut Parts, stair: Stair, feed: Two) -> Result<Vec<SwitchId>, NetworkError> {
        let [x1, mut arriving] = parts.three_wire(&self.say("travelers"), 14.0)?;
        let common = parts.terminal(self.say("X1 common"), feed.black)?;
        self.switch_box(parts, "X1", [feed.white, x1.white], [feed.ground, x1.ground])?;
        let mut switches = vec![parts.three_way(&self.say("X1"), common, [x1.black, x1.red])?];
        if stair.four_way {
            let [x2, x3] = parts.three_wire(&self.say("travelers beyond"), 14.0)?;
            self.switch_box(parts, "X2", [arriving.white, x2.white], [arriving.ground, x2.ground])?;
            let (near, far) = ([arriving.black, arriving.red], [x2.black, x2.red]);
            switches.push(parts.four_way(&self.say("X2"), near, far)?);
            arriving = x3;
        }
        let Three { black, red, white, ground } = arriving;
        let [leg, mut lamp] = parts.two_wire(&self.say("lamp cable 1"), 11.0)?;
        let common = parts.terminal(self.say("X3 common"), leg.black)?;
        self.switch_box(parts, "X3", [white, leg.white], [ground, leg.ground])?;
        switches.push(parts.three_way(&self.say("X3"), common, [black, red])?);
        for n in 1..=stair.lights {
            let onward = if n < stair.lights {
                Some(parts.two_wire(&self.say(&format!("lamp cable {}", n + 1)), 11.0)?)
            } else {
                None
            };
            let near: Vec<Two> = onward.map(|[near, _]| near).into_iter().collect();
            // The second of two is an electronic lamp.
            let power_factor = if n % 2 == 0 { 0.9 } else { 1.0 };
            self.light(parts, &format!("L{n}"), lamp, &near, (60.0, power_factor), true)?;
            lamp = onward.map_or(lamp, |[_, far]| far);
        }
        Ok(switches)
    }

    /// A luminaire on pigtails, perhaps with a cable onward.
    fn light(
        &self,
        parts: &mut Parts,
        name: &str,
        feed: Two,
        onward: &[Two],
        (watts, power_factor): (f64, f64),
        grounded: bool,
    ) -> Result<(), NetworkError> {
        let all = || std::iter::once(&feed).chain(onward);
        let [hots, whites, grounds]: [Vec<NodeId>; 3] = [
            all().map(|two| two.black).collect(),
            all().map(|two| two.white).collect(),
            all().map(|two| two.ground).collect(),
        ];
        let hot = parts.splice(self.say(&format!("{name} hots")), &hots)?;
        let neutral = parts.splice(self.say(&format!("{name} neutrals")), &whites)?;
        let ground = parts.splice(self.say(&format!("{name} grounds")), &grounds)?;
        let hot = parts.pigtail(hot, self.say(&format!("{name} lamp hot")))?;
        let neutral = parts.pigtail(neutral, self.say(&format!("{name} lamp neutral")))?;
        if grounded {
            parts.pigtail(ground, self.say(&format!("{name} lamp ground")))?;
        }
        parts.load(hot, neutral, watts, power_factor)?;
        parts.boxes += 1;
        Ok(())
    }

    /// A switch box and its light.
    fn switch_and_light(&self, parts: &mut Parts, name: &str, feed: Two, watts: f64) -> Result<SwitchId, NetworkError> {
        let [near, far] = parts.two_wire(&self.say(&format!("{name} cable")), 10.0)?;
        let from = parts.terminal(self.say(&format!("{name} switch hot")), feed.black)?;
        let to = parts.terminal(self.say(&format!("{name} switch leg")), near.black)?;
        let neutral = self.switch_box(parts, name, [feed.white, near.white], [feed.ground, near.ground])?;
        if name == "wall light" {
            parts.pigtail(neutral, self.say(&format!("{name} receptacle neutral")))?;
        }
        self.light(parts, name, far, &[], (watts, 1.0), false)?;
        parts.single_pole(from, to)
    }
}
