//! How a random job grows from its panel, box by box.

use boxproof_core::circuit::{NetworkError, NodeId, SwitchId, Value};

use super::Random;
use crate::nets::{OHMS_PER_FOOT_12, OHMS_PER_FOOT_14, Parts, SWITCH_OHMS, Two};

type Done = Result<(), NetworkError>;

const CLOSED: Value = Value::Metal { ohms: SWITCH_OHMS };

/// A job in the making.
pub(super) struct Grow {
    pub(super) parts: Parts,
    pub(super) random: Random,
    pub(super) switches: Vec<SwitchId>,
    /// Pairs of conductors that were landed on each other's places.
    pub(super) exchanged: usize,
    /// Boxes that may still come.
    left: usize,
}

impl Grow {
    pub(super) fn new(parts: Parts, mut random: Random) -> Self {
        let left = 2 + random.below(9);
        Self { parts, random, switches: Vec::new(), exchanged: 0, left }
    }

    /// One to three circuits; some of them share a neutral.
    pub(super) fn circuits(&mut self) -> Done {
        let bars = self.parts.bars.clone();
        let legs = bars.legs.len();
        let many = 1 + self.random.below(3);
        for n in 0..many {
            self.parts.ohms_per_foot = self.random.of(&[OHMS_PER_FOOT_12, OHMS_PER_FOOT_14], OHMS_PER_FOOT_12);
            let first = self.random.below(legs);
            let breaker = self.parts.breaker(&format!("breaker {n}"), bars.leg(first))?;
            if legs > 1 && self.random.one_in(3) {
                let other = self.parts.breaker(&format!("breaker {n} b"), bars.leg(first + 1))?;
                self.shared_neutral([breaker, other])?;
            } else {
                let [near, far] = self.cable("home run")?;
                self.parts.land_in_panel(near, breaker)?;
                self.place(far)?;
            }
        }
        Ok(())
    }

    fn feet(&mut self) -> f64 {
        self.random.between(4.0, 80.0)
    }

    /// A cable. Now and then black and white change places at its near side.
    fn cable(&mut self, name: &str) -> Result<[Two; 2], NetworkError> {
        let feet = self.feet();
        let [near, far] = self.parts.two_wire(name, feet)?;
        if self.random.one_in(60) {
            self.exchanged += 1;
            return Ok([Two { black: near.white, white: near.black, ..near }, far]);
        }
        Ok([near, far])
    }

    /// Two circuits on a cable with three conductors, a load between the legs, and two circuits onward.
    fn shared_neutral(&mut self, breakers: [NodeId; 2]) -> Done {
        let feet = self.feet();
        let [near, far] = self.parts.three_wire("shared home run", feet)?;
        let bars = self.parts.bars.clone();
        let landed = [
            (near.black, breakers[0]),
            (near.red, breakers[1]),
            (near.white, bars.neutral),
            (near.ground, bars.ground),
        ];
        landed.into_iter().try_for_each(|(end, at)| self.parts.joint(end, at))?;
        let [[near_a, far_a], [near_b, far_b]] = [self.cable("first leg onward")?, self.cable("second leg onward")?];
        let hots = [
            self.parts.splice("first leg", &[far.black, near_a.black])?,
            self.parts.splice("second leg", &[far.red, near_b.black])?,
        ];
        self.parts.splice("shared neutrals", &[far.white, near_a.white, near_b.white])?;
        self.parts.splice("shared grounds", &[far.ground, near_a.ground, near_b.ground])?;
        if self.random.one_in(2) {
            // A heater on both legs behind a double-pole switch.
            let feeds = [self.parts.pigtail(hots[0], "heater 1")?, self.parts.pigtail(hots[1], "heater 2")?];
            self.double_pole(feeds, 900.0)?;
        }
        self.place(far_a)?;
        self.place(far_b)
    }

    /// A box at the end of a cable: what is in it, and cables onward.
    fn place(&mut self, feed: Two) -> Done {
        self.left = self.left.saturating_sub(1);
        let mut hots = vec![feed.black];
        let mut whites = vec![feed.white];
        let mut grounds = vec![feed.ground];
        let mut onward = Vec::new();
        let most = self.left.min(1 + self.random.below(2));
        for _ in 0..most {
            let [near, far] = self.cable("chain")?;
            hots.push(near.black);
            whites.push(near.white);
            grounds.push(near.ground);
            onward.push(far);
        }
        let hot = self.parts.splice("hots", &hots)?;
        let neutral = self.parts.splice("neutrals", &whites)?;
        let ground = self.parts.splice("grounds", &grounds)?;
        for _ in 0..=self.random.below(2) {
            self.device(Two { black: hot, white: neutral, ground })?;
        }
        // Two boxes may each use up what is left; the job then has one more, which does no harm.
        onward.into_iter().try_for_each(|far| self.place(far))
    }

    /// A device on a box's splices.
    fn device(&mut self, splices: Two) -> Done {
        let Two { black, white, ground } = splices;
        match self.random.below(9) {
            0 => {
                let [hot, neutral, _] =
                    self.parts.pigtails([(black, "brass"), (white, "silver"), (ground, "green")])?;
                self.load(hot, neutral)
            }
            1 => self.load(black, white),
            2 => self.test_load(splices),
            3 => self.switched_light(splices),
            4 => self.switch_loop(splices),
            5 => {
                let feeds = [self.parts.pigtail(black, "line hot")?, self.parts.pigtail(white, "line neutral")?];
                self.double_pole(feeds, 600.0)
            }
            6 => self.centre_off(splices),
            7 => self.unused_cable(black),
            _ => self.stair(splices),
        }
    }

    /// A lamp, a motor, something electronic, or a heater.
    fn load(&mut self, hot: NodeId, neutral: NodeId) -> Done {
        let (watts, factor) = match self.random.below(4) {
            0 => (self.random.between(25.0, 100.0), 1.0),
            1 => (self.random.between(100.0, 700.0), self.random.between(0.5, 0.85)),
            2 => (self.random.between(4.0, 40.0), self.random.between(0.55, 0.98)),
            _ => (self.random.between(200.0, 900.0), 1.0),
        };
        self.parts.load(hot, neutral, watts, factor)
    }

    /// A receptacle into which something may be plugged.
    fn test_load(&mut self, splices: Two) -> Done {
        let [hot, neutral] =
            self.parts.pigtails([(splices.black, "tested brass"), (splices.white, "tested silver")])?;
        let watts = self.random.between(60.0, 1000.0);
        let switch = self.parts.test_load(hot, neutral, watts)?;
        self.switches.push(switch);
        Ok(())
    }

    fn double_pole(&mut self, feeds: [NodeId; 2], watts: f64) -> Done {
        let ends = [self.parts.node("load 1"), self.parts.node("load 2")];
        let contacts = [(feeds[0], ends[0], 1), (feeds[1], ends[1], 1)];
        let switch = self.parts.switched(2, &contacts, CLOSED)?;
        self.switches.push(switch);
        self.parts.load(ends[0], ends[1], watts, 1.0)
    }

    /// A switch here, a light at the end of a cable.
    fn switched_light(&mut self, splices: Two) -> Done {
        let [near, far] = self.cable("lamp cable")?;
        let line = self.parts.pigtail(splices.black, "switch line")?;
        let leg = self.parts.terminal("switch leg", near.black)?;
        self.parts.joint(near.white, splices.white)?;
        self.parts.joint(near.ground, splices.ground)?;
        let switch = self.parts.single_pole(line, leg)?;
        self.switches.push(switch);
        self.load(far.black, far.white)
    }

    /// A light here, its switch at the end of a cable whose white is hot.
    fn switch_loop(&mut self, splices: Two) -> Done {
        let [near, far] = self.cable("switch loop")?;
        self.parts.joint(near.white, splices.black)?;
        self.parts.joint(near.ground, splices.ground)?;
        let leg = self.parts.splice("returning leg", &[near.black])?;
        let line = self.parts.terminal("loop line", far.white)?;
        let back = self.parts.terminal("loop leg", far.black)?;
        let switch = self.parts.single_pole(line, back)?;
        self.switches.push(switch);
        self.load(leg, splices.white)
    }

    /// A fan with two speeds and off between.
    fn centre_off(&mut self, splices: Two) -> Done {
        let line = self.parts.pigtail(splices.black, "fan line")?;
        let speeds = [self.parts.node("fan low"), self.parts.node("fan high")];
        let switch = self.parts.switched(3, &[(line, speeds[0], 0), (line, speeds[1], 2)], CLOSED)?;
        self.switches.push(switch);
        self.parts.load(speeds[0], splices.white, 30.0, 0.6)?;
        self.parts.load(speeds[1], splices.white, 55.0, 0.7)
    }

    /// A cable that leads nowhere: floating, or with its black connected.
    fn unused_cable(&mut self, hot: NodeId) -> Done {
        let [near, _] = self.cable("unused cable")?;
        if self.random.one_in(2) { self.parts.joint(near.black, hot) } else { Ok(()) }
    }

    /// Two three-way switches, up to two four-way ones between them, and a light. Travelers of one of the switches
    /// may be landed the other way round, or its common on a traveler's screw.
    fn stair(&mut self, splices: Two) -> Done {
        let Two { black, white, ground } = splices;
        let feet = self.feet();
        let [near, mut far] = self.parts.three_wire("travelers", feet)?;
        self.parts.joint(near.white, white)?;
        self.parts.joint(near.ground, ground)?;
        let common = self.parts.pigtail(black, "first common")?;
        let first = self.parts.three_way("first", common, [near.black, near.red])?;
        self.switches.push(first);
        for _ in 0..self.random.below(3) {
            let feet = self.feet();
            let [near, beyond] = self.parts.three_wire("travelers onward", feet)?;
            self.parts.splice("stair neutrals", &[far.white, near.white])?;
            self.parts.splice("stair grounds", &[far.ground, near.ground])?;
            let four_way = self.parts.four_way("between", [far.black, far.red], [near.black, near.red])?;
            self.switches.push(four_way);
            far = beyond;
        }
        let leg = self.parts.node("switched leg");
        let (mut common, mut travelers) = (leg, [far.black, far.red]);
        if self.random.one_in(8) {
            self.exchanged += 1;
            std::mem::swap(&mut common, &mut travelers[0]);
        }
        let last = self.parts.three_way("last", common, travelers)?;
        self.switches.push(last);
        self.load(leg, far.white)
    }
}
