//! Three invented networks of the size of real jobs, for the benchmark and the outside references, made with the
//! public calls of a network alone: nothing of the job's own wiring takes part.
//!
//! A small lighting job, a circuit of 14 boxes, and a dwelling of so many circuits. Their values are those that the
//! program assumes where nothing was noted; their lengths and loads are invented.

mod branch;
mod parts;

use boxproof_core::circuit::{Network, NetworkError, NodeId, State, SwitchId};

pub use branch::{Branch, Stair};
pub use parts::{Bars, CONTACT_OHMS, OHMS_PER_FOOT_12, OHMS_PER_FOOT_14, Parts, SWITCH_OHMS, Supply, Three, Two};

/// Circuits of the dwelling that the benchmark measures.
pub const CIRCUITS: usize = 24;

/// A network with what a check needs to walk through it.
#[derive(Debug)]
pub struct Net {
    /// What it is, in words.
    pub name: String,
    /// The network.
    pub network: Network,
    /// What each node is, by its place in the network.
    pub names: Vec<String>,
    /// Switches and test loads of its first circuit.
    pub switches: Vec<SwitchId>,
    /// Boxes besides the panel.
    pub boxes: usize,
}

impl Net {
    /// All positions of the first circuit's switches, every other switch at rest. From each to the next one switch
    /// moves (a Gray code), which is the least that any program has to change.
    pub fn positions(&self) -> Vec<State> {
        let rest = self.network.first_state();
        let state = |n: usize| {
            let code = n ^ n >> 1;
            let moved = self.switches.iter().enumerate().map(|(bit, switch)| (*switch, u8::from(code >> bit & 1 == 1)));
            moved.fold(rest.clone(), |state, (switch, position)| state.with(switch, position))
        };
        (0..1 << self.switches.len()).map(state).collect()
    }

    /// What a node is.
    pub fn name_of(&self, node: NodeId) -> &str {
        self.names.get(node.index()).map_or("", String::as_str)
    }

    /// A network of what was built.
    pub fn of(name: String, parts: Parts, switches: Vec<SwitchId>) -> Self {
        Self { name, network: parts.network, names: parts.names, switches, boxes: parts.boxes }
    }
}

/// The three networks of the benchmark, the smallest first.
///
/// # Errors
/// [`NetworkError`] if one of the values here is none; a check would find it.
pub fn three() -> Result<[Net; 3], NetworkError> {
    Ok([small()?, circuit()?, dwelling(CIRCUITS)?])
}

/// A small lighting job of about 70 nodes: a receptacle, a ceiling light between two three-way switches, a switch
/// with a receptacle on one yoke and its wall light. Its cables are short; each is one section.
///
/// # Errors
/// [`NetworkError`], see [`three`].
pub fn small() -> Result<Net, NetworkError> {
    let mut parts = Parts::new(Supply::SplitPhase, 1)?;
    let breaker = parts.breaker("breaker", parts.bars.leg(0))?;
    let [home, a_home] = parts.two_wire("home run", 60.0)?;
    let [a_stair, b_stair] = parts.three_wire("stair cable", 12.0)?;
    let [b_far, c_far] = parts.three_wire("far cable", 15.0)?;
    let [a_wall, d_wall] = parts.two_wire("wall cable", 18.0)?;
    let [d_lamp, w_lamp] = parts.two_wire("lamp cable", 10.0)?;
    parts.boxes = 5;
    parts.land_in_panel(home, breaker)?;

    // A: the feed, a receptacle, the first three-way switch.
    let hot = parts.splice("A hots", &[a_home.black, a_wall.black])?;
    let neutral = parts.splice("A neutrals", &[a_home.white, a_stair.white, a_wall.white])?;
    let ground = parts.splice("A grounds", &[a_home.ground, a_stair.ground, a_wall.ground])?;
    let [brass, silver, _] = parts.pigtails([
        (hot, "A receptacle hot"),
        (neutral, "A receptacle neutral"),
        (ground, "A receptacle ground"),
    ])?;
    let common = parts.pigtail(hot, "A switch common")?;
    let first = parts.three_way("A switch", common, [a_stair.black, a_stair.red])?;

    // B: the ceiling light; the white of the far cable is the switched leg.
    parts.splice("B traveler 1", &[b_stair.black, b_far.black])?;
    parts.splice("B traveler 2", &[b_stair.red, b_far.red])?;
    parts.splice("B grounds", &[b_stair.ground, b_far.ground])?;
    let lamp_neutral = parts.splice("B lamp neutral", &[b_stair.white])?;
    let lamp_hot = parts.splice("B lamp hot", &[b_far.white])?;
    parts.load(lamp_hot, lamp_neutral, 60.0, 1.0)?;

    // C: the second three-way switch.
    let common = parts.terminal("C switch common", c_far.white)?;
    let second = parts.three_way("C switch", common, [c_far.black, c_far.red])?;
    parts.terminal("C switch ground", c_far.ground)?;

    // D: switch and receptacle on one yoke; W: its wall light.
    let feed = parts.terminal("D hot", d_wall.black)?;
    let leg = parts.terminal("D switched", d_lamp.black)?;
    let neutral = parts.splice("D neutrals", &[d_wall.white, d_lamp.white])?;
    let ground = parts.splice("D grounds", &[d_wall.ground, d_lamp.ground])?;
    parts.pigtails([(neutral, "D receptacle neutral"), (ground, "D receptacle ground")])?;
    let third = parts.single_pole(feed, leg)?;
    let lamp_hot = parts.splice("W lamp hot", &[w_lamp.black])?;
    let lamp_neutral = parts.splice("W lamp neutral", &[w_lamp.white])?;
    parts.splice("W ground", &[w_lamp.ground])?;
    parts.load(lamp_hot, lamp_neutral, 40.0, 0.9)?;

    let test = parts.test_load(brass, silver, 1440.0)?;
    Ok(Net::of("small lighting job".into(), parts, vec![first, second, third, test]))
}

/// One circuit of 14 boxes, about 250 nodes: five receptacles in a chain, a stair with three-way and four-way switches
/// and two lights, a light with its switch, and a switch with a receptacle and its wall light.
///
/// # Errors
/// [`NetworkError`], see [`three`].
pub fn circuit() -> Result<Net, NetworkError> {
    let mut parts = Parts::new(Supply::SplitPhase, 2)?;
    let branch = Branch::full("", 0, 45.0, true);
    let switches = branch.into_parts(&mut parts)?;
    Ok(Net::of(format!("circuit of {} boxes", parts.boxes), parts, switches))
}

/// A dwelling of so many circuits on both legs; of each 24, eight are like [`circuit`] and sixteen are receptacles
/// with a light or two. 24 circuits have about 3 600 nodes.
///
/// # Errors
/// [`NetworkError`], see [`three`].
pub fn dwelling(circuits: usize) -> Result<Net, NetworkError> {
    let mut parts = Parts::new(Supply::SplitPhase, 2)?;
    let mut first = Vec::new();
    for n in 0..circuits {
        let switches = Branch::of_dwelling(n).into_parts(&mut parts)?;
        if n == 0 {
            first = switches;
        }
    }
    Ok(Net::of(format!("dwelling of {circuits} circuits"), parts, first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_networks_have_the_size_that_they_are_named_for() {
        let sizes: Vec<_> = three().unwrap().iter().map(|net| (net.network.node_count(), net.boxes)).collect();
        let [small, circuit, dwelling] = sizes[..] else { panic!("three networks") };
        assert!((65..85).contains(&small.0) && small.1 == 5, "{small:?}");
        assert!((235..265).contains(&circuit.0) && circuit.1 == 14, "{circuit:?}");
        assert!((3_500..3_700).contains(&dwelling.0), "{dwelling:?}");
        for net in three().unwrap() {
            assert_eq!(net.names.len(), net.network.node_count());
            assert_eq!(net.positions().len(), 1 << net.switches.len());
        }
    }

    #[test]
    fn one_switch_moves_from_each_position_to_the_next() {
        let net = small().unwrap();
        let positions = net.positions();
        for pair in positions.windows(2) {
            let moved = net.network.switches().filter(|s| pair[0].position(*s) != pair[1].position(*s)).count();
            assert_eq!(moved, 1);
        }
        assert_eq!(positions.iter().collect::<std::collections::BTreeSet<_>>().len(), positions.len());
    }
}
