//! What no wiring should be, and some is: the solution stays finite and says nothing false.

use super::*;
use crate::circuit::change::Edit;

const METAL: Value = Value::Metal { ohms: 1e-3 };

fn finite(solver: &Solver<'_>, states: &[State]) {
    let network = solver.network();
    let mut seen = 0;
    solver.sweep(states, |n, voltages| {
        seen += 1;
        let one = solver.at(&states[n]);
        for node in network.nodes() {
            let (a, b) = (voltages.volts(node), one.volts(node));
            assert!(a.is_finite() && b.is_finite() && (a - b).norm() < 1e-11, "{a} {b}");
            assert!(one.thevenin_ohms(node, network.reference()).is_finite());
        }
    });
    assert_eq!(seen, states.len());
}

#[test]
fn nothing_at_all_is_solved() {
    let network = Network::new(60.0, 1e-12).unwrap();
    let solver = Solver::new(&network);
    finite(&solver, &[]);
    finite(&solver, &[network.first_state(), network.first_state()]);
    let solution = solver.at(&network.first_state());
    let far = NodeId(7);
    assert_eq!(solution.volts(far), Complex64::ZERO);
    assert_eq!(solution.edited(&[Edit::Change(ElementId(3), None)]).volts(far), Complex64::ZERO);
    assert_eq!(solution.with_added(far, network.reference(), METAL).across(far, network.reference()), Complex64::ZERO);
}

/// Both legs meet through the least resistance that is taken: half of each, and a current that trips anything.
#[test]
fn sources_that_meet_share_the_difference() {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let sources = legs().map(|volts| network.source(volts).unwrap());
    let least = Value::Metal { ohms: 1e-7 };
    let middle = network.node();
    for source in sources {
        network.connect(source, middle, least).unwrap();
    }
    let direct = network.connect(sources[0], sources[1], least).unwrap();
    let solver = Solver::new(&network);
    finite(&solver, &[network.first_state()]);
    let solution = solver.at(&network.first_state());
    assert!(solution.volts(middle).norm() < 1e-10);
    assert!((solution.amperes(direct).re - 240.0 / 1e-7).abs() < 1.0);
    // Sources are fixed, so that what joins them moves nothing; a node that is tied to one takes its voltage.
    let edits = [Edit::Change(direct, None), Edit::Add { from: sources[0], to: sources[1], value: least }];
    assert!((solution.edited(&edits).volts(middle)).norm() < 1e-10);
}

/// A part that nothing feeds has no voltage and the leak's impedance; tied down it has the tie's, and tied again too.
#[test]
fn an_island_is_at_zero_and_can_be_tied_down() {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let source = network.source(Complex64::new(120.0, 0.0)).unwrap();
    let [a, b] = [0, 1].map(|_| network.node());
    network.connect(a, b, METAL).unwrap();
    let solver = Solver::new(&network);
    finite(&solver, &[network.first_state()]);
    let floating = solver.at(&network.first_state());
    assert_eq!(floating.volts(a), Complex64::ZERO);
    assert!((floating.thevenin_ohms(a, network.reference()).re - 5e11).abs() < 1.0);
    let tied = floating.with_added(a, source, METAL);
    assert!((tied.volts(b).re - 120.0).abs() < 1e-11);
    // By rank one this would be the difference of two numbers of 5e11, of which 0.1 milliohm is left.
    assert!((tied.thevenin_ohms(b, network.reference()).re - 2e-3).abs() < 1e-15);
    let twice = tied.with_added(b, network.reference(), METAL);
    assert!((twice.volts(b).re - 40.0).abs() < 1e-11, "{}", twice.volts(b));
    assert!((twice.across(source, a).re - 40.0).abs() < 1e-11);
}

/// A milliohm that is taken out leaves a part to its leak, or to a stray capacitance: no volts of its own remain.
#[test]
fn what_is_cut_off_shows_nothing_that_is_not_there() {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let source = network.source(Complex64::new(120.0, 0.0)).unwrap();
    let [a, b, c] = [0, 1, 2].map(|_| network.node());
    network.connect(source, a, METAL).unwrap();
    let bridge = network.connect(a, b, METAL).unwrap();
    network.connect(b, c, METAL).unwrap();
    network.connect(a, network.reference(), Value::Load { ohms: 10.0, henries: 0.02 }).unwrap();
    let solver = Solver::new(&network);
    let before = solver.at(&network.first_state());
    for cut in [before.with_changed(&[(bridge, None)]), before.edited(&[Edit::Change(bridge, None)])] {
        assert_eq!(cut.volts(c), Complex64::ZERO);
        assert_eq!(cut.amperes(bridge), Complex64::ZERO);
        assert!((cut.volts(a).norm() - 120.0).abs() < 0.1);
    }
}

/// Hundreds of switches, of which few turn: what is asked for is solved, and nothing else.
#[test]
fn hundreds_of_switches_cost_what_their_positions_cost() {
    let mut network = Network::new(60.0, 1e-12).unwrap();
    let source = network.source(Complex64::new(120.0, 0.0)).unwrap();
    let mut at = source;
    let mut switches = Vec::new();
    for n in 0..300u32 {
        let (next, switch) = (network.node(), network.switch(2).unwrap());
        network.contact((at, next), METAL, switch, &[0]).unwrap();
        network.connect(next, network.reference(), Value::Resistance { ohms: f64::from(1000 + n) }).unwrap();
        switches.push(switch);
        at = next;
    }
    let solver = Solver::new(&network);
    let rest = network.first_state();
    let every_one = switches.iter().map(|switch| rest.clone().with(*switch, 1));
    let states: Vec<State> = std::iter::once(rest.clone()).chain(every_one).collect();
    finite(&solver, &states);
    let last = solver.at(&states[1]);
    assert!(last.volts(at).norm() < 1e-9 && solver.at(&rest).volts(at).norm() > 100.0);
    finite(&solver, &network.states(&[switches[3], switches[250]], &rest));
}
