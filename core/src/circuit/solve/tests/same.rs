//! Two ways to one solution must agree: side by side and one by one, edited and built anew.

use super::*;
use crate::circuit::change::Edit;

/// Both ways round off differently. The weights of a step are right to a few units in the last place, and a voltage
/// is a mean of means of at most 120 V; a load beside a capacitance may cancel some digits of an admittance's
/// imaginary part. 1e-10 V leaves four digits for that, and is a tenth of what is promised.
const ROUNDING_VOLTS: f64 = 1e-10;

/// The same network with elements changed, removed or added.
fn rebuilt(network: &Network, edits: &[Edit]) -> Network {
    let mut anew = Network::new(network.hertz(), network.leak_siemens()).unwrap();
    for node in network.nodes().skip(1) {
        match network.fixed(node) {
            Some(volts) => anew.source(volts).unwrap(),
            None => anew.node(),
        };
    }
    let switches: Vec<_> =
        network.switches().map(|switch| anew.switch(network.positions(switch).unwrap()).unwrap()).collect();
    for (n, element) in (0..).zip(network.elements()) {
        let ends = (element.from, element.to);
        let edit = edits.iter().rev().find_map(|edit| match edit {
            Edit::Change(id, value) if *id == ElementId(n) => Some(*value),
            _ => None,
        });
        match (edit, element.contact) {
            (Some(None), _) => continue,
            (Some(Some(value)), _) => anew.connect(ends.0, ends.1, value),
            (None, None) => anew.connect(ends.0, ends.1, element.value),
            (None, Some(contact)) => {
                let positions = 0..network.positions(contact.switch).unwrap();
                let closed: Vec<u8> = positions.filter(|position| contact.closed_in(*position)).collect();
                anew.contact(ends, element.value, switches[contact.switch.index()], &closed)
            }
        }
        .unwrap();
    }
    for edit in edits {
        if let Edit::Add { from, to, value } = edit {
            anew.connect(*from, *to, *value).unwrap();
        }
    }
    anew
}

/// Voltages, impedances and readings of both are the same.
fn same(edited: &Solution<'_>, anew: &Solution<'_>, network: &Network) {
    let nodes: Vec<_> = network.nodes().collect();
    for node in &nodes {
        let (a, b) = (edited.volts(*node), anew.volts(*node));
        assert!((a - b).norm() <= ROUNDING_VOLTS, "{node:?}: {a} {b}");
    }
    for pair in nodes.windows(2) {
        let (a, b) = (edited.thevenin_ohms(pair[0], pair[1]), anew.thevenin_ohms(pair[0], pair[1]));
        assert!((a - b).norm() <= 1e-9 * b.norm(), "{pair:?}: {a} {b}");
        let (a, b) = (edited.across(pair[0], pair[1]), anew.across(pair[0], pair[1]));
        assert!((a - b).norm() <= 2.0 * ROUNDING_VOLTS, "{pair:?}: {a} {b}");
    }
}

/// Values that hypotheses are made of: a bridge, a bad joint, a meter, a load.
fn another() -> impl Strategy<Value = Option<Value>> {
    prop_oneof![
        2 => Just(None),
        1 => Just(Some(Value::Metal { ohms: 1e-3 })),
        2 => values(false).prop_map(Some),
    ]
}

fn edits(parts: usize) -> impl Strategy<Value = Vec<Edit>> {
    let change = (0..u32::try_from(parts).unwrap(), another()).prop_map(|(n, value)| Edit::Change(ElementId(n), value));
    let add = (0..NODES, 1..NODES, values(false)).prop_map(|(from, by, value)| {
        let node = |n: usize| NodeId(u32::try_from(n % NODES).unwrap());
        Edit::Add { from: node(from), to: node(from + by), value }
    });
    prop::collection::vec(prop_oneof![change, add], 1..4)
}

fn parts_and_edits() -> impl Strategy<Value = (Vec<Part>, Vec<Edit>)> {
    parts(NODES, false).prop_flat_map(|parts| {
        let count = parts.len();
        (Just(parts), edits(count))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// Positions side by side are what they are one by one, in whatever order and however many.
    #[test]
    fn a_sweep_gives_what_each_position_gives(
        parts in parts(NODES, false),
        order in prop::collection::vec(0..8usize, 0..21),
    ) {
        let network = network(&parts, NODES, legs());
        let solver = Solver::new(&network);
        let every = every_state(&network);
        let states: Vec<State> = order.iter().map(|n| every[n % every.len()].clone()).collect();
        for states in [&states, &every] {
            let mut next = 0;
            solver.sweep(states, |n, voltages| {
                assert_eq!(n, next);
                next += 1;
                let one = solver.at(&states[n]);
                for node in network.nodes() {
                    let (a, b) = (voltages.volts(node), one.volts(node));
                    // Sums in another order, products rounded once or twice: a few units in the last place of 120 V,
                    // more where a load and a capacitance nearly cancel.
                    assert!((a - b).norm() <= 1e-11, "{a} {b}");
                }
            });
            prop_assert_eq!(next, states.len());
        }
    }

    /// Edited is what the changed network gives when it is planned and solved anew; nothing is lost on what floats.
    #[test]
    fn an_edited_solution_is_that_of_the_changed_network((parts, edits) in parts_and_edits()) {
        let network = network(&parts, NODES, legs());
        let anew = rebuilt(&network, &edits);
        let (solver, expected) = (Solver::new(&network), Solver::new(&anew));
        for state in every_state(&network) {
            let (before, expected) = (solver.at(&state), expected.at(&state));
            same(&before.edited(&edits), &expected, &network);
            same(&before.edited(&edits).substituted(), &expected, &network);
            // One after the other as well.
            same(&before.edited(&edits[..1]).edited(&edits[1..]), &expected, &network);
        }
    }

    /// What an element carries after it was changed follows from its new value.
    #[test]
    fn currents_follow_the_edited_elements((parts, edits) in parts_and_edits()) {
        let network = network(&parts, NODES, legs());
        let anew = rebuilt(&network, &edits);
        let (solver, expected) = (Solver::new(&network), Solver::new(&anew));
        let state = network.first_state();
        let (before, expected) = (solver.at(&state), expected.at(&state));
        let edited = before.edited(&edits);
        let mut there = 0;
        for (n, element) in (0..).zip(network.elements()) {
            let removed = edits.iter().rev().find_map(|edit| match edit {
                Edit::Change(id, value) if *id == ElementId(n) => Some(value.is_none()),
                _ => None,
            });
            let amperes = edited.amperes(ElementId(n));
            if removed == Some(true) {
                prop_assert_eq!(amperes, Complex64::ZERO);
                continue;
            }
            let b = expected.amperes(ElementId(there));
            there += 1;
            let admittance = edited.value(ElementId(n)).map_or(0.0, |value| value.admittance(60.0).norm());
            prop_assert!((amperes - b).norm() <= 2.0 * ROUNDING_VOLTS * admittance, "{element:?} {amperes} {b}");
        }
    }
}
