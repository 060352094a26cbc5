//! What wraps must show, and how well they close.

use super::*;

/// Wraps as they are drawn, rolled up: both ends meet on the belly to half a millimetre, and as nearly as the wrap says.
#[test]
fn drawn_wraps_close_to_half_a_millimetre() {
    let paper = 0.1e-3;
    let (mut widest, mut made, mut most) = (0.0_f64, 0, 0);
    for (name, worked, _) in EVERY.iter() {
        let nock = &worked.nocks.upper;
        let shape = TipShape::of(nock, worked.statics.swings.upper.brace);
        let surface = |a: f64, theta: f64| -> f64 { nock.solid.uncut(a, theta) };
        let Ok(bands) = wrap::closing_bands(&surface, wrap::wanted(nock, &shape), paper) else {
            continue;
        };
        made += 1;
        most = most.max(bands.len());
        for band in bands {
            for k in 0..=6 {
                let a = band.span[0] + (band.span[1] - band.span[0]) * f64::from(k) / 6.0;
                let whole = crate::tip::TipSolid { cuts: Vec::new(), ..nock.solid.clone() };
                let points = whole.section(a, 4000);
                let around = points.iter().zip(points.iter().cycle().skip(1));
                let girth: f64 = around.map(|(p, q)| (q[0] - p[0]).hypot(q[1] - p[1])).sum();
                let gap = (band.girth(a) - (girth + std::f64::consts::PI * paper)).abs();
                widest = widest.max(gap);
                assert!(
                    gap < 0.5e-3 && gap < 2.0 * band.mismatch.round + 0.05e-3,
                    "{name} at {:.1} mm: {gap}",
                    a * 1e3
                );
            }
        }
    }
    println!("{made} of {} wrapped, at most {most} bands, widest gap {:.3} mm", EVERY.len(), widest * 1e3);
    assert!(10 * made >= 9 * EVERY.len());
}

/// No line of the groove is drawn off a wrap's paper: not in its notch either.
#[test]
fn lines_on_a_wrap_lie_on_its_paper() {
    use kurbo::{ParamCurveNearest, Shape};
    let mut lines = 0;
    for (name, _, pieces) in EVERY.iter() {
        for Piece { template: t, .. } in pieces.iter().filter(|p| p.template.name.contains(" wrap")) {
            let of = |role: Role| {
                t.items.iter().filter(move |i| i.role == role).filter_map(|i| match &i.figure {
                    Figure::Line(path) => Some(path),
                    _ => None,
                })
            };
            let Some(cut) = of(Role::Cut).next() else { continue };
            let on = |p: kurbo::Point| {
                cut.contains(p) || cut.segments().any(|edge| edge.nearest(p, 1e-3).distance_sq < 0.05 * 0.05)
            };
            for line in of(Role::Outline).chain(of(Role::Mark)).chain(of(Role::Centre)) {
                for edge in line.segments() {
                    for k in 0..=8 {
                        let p = kurbo::ParamCurve::eval(&edge, f64::from(k) / 8.0);
                        assert!(on(p), "{name}, {}: {p:?}", t.name);
                    }
                }
                lines += 1;
            }
        }
    }
    assert!(lines > 400, "{lines}");
}

/// Both ends of a groove that is alike on both sides stand on its wraps, one left and one right, and the tab's scale has its figures.
#[test]
fn wraps_show_both_ends_of_the_groove_and_a_scale_to_read() {
    use kurbo::ParamCurveNearest;
    let (mut wrong, mut ends, mut scales) = (Vec::new(), 0, 0);
    for (name, worked, pieces) in EVERY.iter() {
        let nock = &worked.nocks.upper;
        let shape = TipShape::of(nock, worked.statics.swings.upper.brace);
        let surface = |a: f64, theta: f64| -> f64 { nock.solid.uncut(a, theta) };
        let paper = worked.design.sheets.paper_thickness;
        let Ok(bands) = wrap::closing_bands(&surface, wrap::wanted(nock, &shape), paper) else { continue };
        let papers =
            pieces.iter().filter(|p| p.template.name.contains(" wrap") && !p.template.name.starts_with("lower"));
        for (band, Piece { template: t, .. }) in bands.iter().zip(papers) {
            let outlines: Vec<&kurbo::BezPath> = t
                .items
                .iter()
                .filter_map(|i| match &i.figure {
                    Figure::Line(path) if i.role == Role::Outline => Some(path),
                    _ => None,
                })
                .collect();
            for last in shape.groove.iter().filter(|_| shape.even).filter_map(|run| run.last()) {
                let [from, to] = band.span;
                let here = [last.low, last.high].into_iter().filter(|a| (from + 0.3e-3..to - 0.3e-3).contains(a));
                for (a, sign) in here.flat_map(|a| [(a, 1.0), (a, -1.0)]) {
                    let [x, y] = band.place(a, sign * last.theta);
                    let p = kurbo::Point::new(x * 1e3, y * 1e3);
                    let off = outlines.iter().flat_map(|path| path.segments()).map(|s| s.nearest(p, 1e-3).distance_sq);
                    let off = off.fold(f64::INFINITY, f64::min).sqrt();
                    if off > 0.05 {
                        wrong.push(format!("{name}, {}: an end of the groove at {p:?} is {off:.2} mm off", t.name));
                    }
                    ends += 1;
                }
            }
            let figures = |piece: &crate::template::Template| -> Vec<String> {
                let texts = piece.items.iter().filter_map(|i| match &i.figure {
                    Figure::Text { text, .. } => Some(text.clone()),
                    _ => None,
                });
                texts.filter(|text| ["0", "5", "10"].contains(&text.as_str())).collect()
            };
            let found = figures(t);
            if found.len() < 3 {
                wrong.push(format!("{name}, {}: a scale with {found:?}", t.name));
            }
            scales += 1;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(ends > 100 && scales > 40, "{ends} {scales}");
}

/// The string's line over the back is no long dash from its middle both ways: it is one line.
#[test]
fn the_strings_line_is_one_line_over_the_back() {
    let mut lines = 0;
    for (name, _, pieces) in EVERY.iter().filter(|(_, w, _)| w.nocks.upper.is_even() && w.nocks.upper.groove.is_some())
    {
        let papers = pieces.iter().filter(|p| p.template.name.contains(" wrap"));
        for Piece { template: t, .. } in papers {
            let marks = t.items.iter().filter(|i| i.role == Role::Mark);
            for path in marks.filter_map(|i| if let Figure::Line(path) = &i.figure { Some(path) } else { None }) {
                let ends =
                    [path.elements().first(), path.elements().last()].map(|e| e.and_then(kurbo::PathEl::end_point));
                assert!(ends.iter().flatten().all(|p| p.x.abs() > 0.5), "{name}, {}: {ends:?}", t.name);
                lines += 1;
            }
        }
    }
    assert!(lines > 20, "{lines}");
}
