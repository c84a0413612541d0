#![allow(clippy::unwrap_used, reason = "x")]
use boxproof_core::circuit::Solver;
use boxproof_tests::{forty, nets, spice::Spice};
#[test]
fn t() {
    for net in nets::three().unwrap() {
        let states = net.positions();
        let solver = Solver::new(&net.network);
        let t = std::time::Instant::now();
        let states = &states[4..6];
        let r = forty::solve(&net.network, states).unwrap();
        eprintln!("{:?}", t.elapsed());
        let mut worst: (f64, String) = (0.0, String::new());
        for (s, v) in states.iter().zip(&r) {
            let sol = solver.at(s);
            for n in net.network.nodes() {
                let d = (v[n.index()] - sol.volts(n)).norm();
                if !(d <= worst.0) {
                    worst = (d, format!("{} {}", net.name_of(n), sol.volts(n)));
                }
            }
        }
        eprintln!(
            "{} nodes {} states {}: {worst:?} {:?}",
            net.name,
            net.network.node_count(),
            states.len(),
            t.elapsed()
        );
    }
}
