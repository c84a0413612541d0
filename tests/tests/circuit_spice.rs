#![allow(clippy::unwrap_used, reason = "x")]
use boxproof_core::circuit::Solver;
use boxproof_tests::{nets, spice::Spice};
#[test]
fn t() {
    for net in nets::three().unwrap() {
        let states = net.positions();
        let solver = Solver::new(&net.network);
        let mut spice = Spice::load(&net.network, &states[0]).unwrap();
        let mut worst: (f64, String) = (0.0, String::new());
        let t = std::time::Instant::now();
        for s in &states[..states.len().min(16)] {
            let v = spice.at(s).unwrap();
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
    let net = nets::small().unwrap();
    let states = net.positions();
    let t = std::time::Instant::now();
    for k in 0..500 {
        let mut spice = Spice::load(&net.network, &states[0]).unwrap();
        spice.at(&states[k % 16]).unwrap();
    }
    eprintln!("500 loads {:?}", t.elapsed());
    eprintln!(
        "{}",
        std::fs::read_to_string("/proc/self/status")
            .unwrap()
            .lines()
            .filter(|l| l.starts_with("VmHWM") || l.starts_with("VmRSS"))
            .collect::<String>()
    );
}
