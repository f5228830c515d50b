//! Scratch.
mod support;
#[test]
fn show() {
    let seed = std::env::var("SEED").unwrap().parse().unwrap();
    let kinds = match std::env::var("KIND").unwrap().as_str() {
        "trees" => support::random::PLAIN_TREE,
        "spill" => support::random::Kinds { low_lips: true, ..support::random::PLAIN_TREE },
        "crests" => support::random::Kinds { junctions: false, overflows: false, ..support::random::EVERYTHING },
        "tanks" => support::random::Kinds { junctions: false, crests: false, ..support::random::EVERYTHING },
        "junctions" => support::random::Kinds { overflows: false, crests: false, ..support::random::EVERYTHING },
        _ => support::random::EVERYTHING,
    };
    let (n, s) = support::random::site(seed, kinds);
    println!("{s:?}");
    let st = wetrun_solver::solve(&n, &s);
    for (i, l) in n.lines().iter().enumerate() {
        println!("{} {}->{} D{} L{:.2} K{:.2} {:?} {:?}", l.tag, n.end_tag(l.from), n.end_tag(l.to), l.pipe.inside.to_m(), l.length.to_m(), l.k, l.profile.iter().map(|s| (s.at.to_m(), s.level.to_m())).collect::<Vec<_>>(), st.as_ref().ok().map(|s| &s.lines[i]));
    }
    for (i, d) in n.downspouts().iter().enumerate() { println!("{} out{:.3} lip{:.3} foot{:.3} D{} q{:e} {:?}", d.tag, d.outlet.to_m(), d.lip.to_m(), d.foot.to_m(), d.pipe.inside.to_m(), d.catchment.to_m2(), st.as_ref().ok().map(|s| &s.downspouts[i])); }
    for (i, d) in n.points().iter().enumerate() { println!("{} {:?} {:?} {:?}", d.tag, d.level, d.fitting, st.as_ref().ok().map(|s| &s.points[i])); }
    for (i, d) in n.tanks().iter().enumerate() { println!("{} {:?} {:?} {:?}", d.tag, d.inlet, d.overflow.as_ref().map(|o| (o.level, o.to, o.pipe.as_ref().map(|p| p.inside))), st.as_ref().ok().map(|s| &s.tanks[i])); }
    println!("{:?}", st.map(|s| s.residuals));
}
