//! What must hold for any bow, whatever its measures.

#![allow(clippy::unwrap_used)]

use nockwright::bow::draw_curve::{Cycle, cycle};
use nockwright::design::*;

fn inch(v: f64) -> f64 {
    v * 0.0254
}

/// An invented flatbow, both limbs alike, pressed and nocked in the middle.
fn flatbow() -> Design {
    let given = |value: f64| Sourced { value, source: "given".into(), certainty: Certainty::Given };
    let station = |at, width, thickness| Station { at: inch(at), width: inch(width), thickness: inch(thickness) };
    let limb = Limb {
        length: inch(34.0),
        section: SectionForm::RoundedRectangle { corner: 0.003 },
        stations: vec![station(4.0, 1.875, 0.56), station(20.0, 1.625, 0.5), station(33.5, 0.5, 0.42)],
        unstrung: vec![],
        corners: vec![],
        stiffness: vec![],
        wood: Wood {
            name: "white ash".into(),
            modulus: given(12.0e9),
            rupture: None,
            shear: None,
            bearing: None,
            crushing: None,
            density: None,
        },
    };
    let nock = NockChoice { style: "straight groove", values: vec![] };
    Design {
        name: "Flatbow".into(),
        units: Units::Inch,
        bow: Bow {
            length: inch(68.0),
            stiff_handle: inch(8.0),
            handle_depth: inch(1.5),
            pivot: 0.0,
            nocking_point: 0.0,
            arrow_pass: 0.0,
            hand: Hand::Right,
            bracing: Bracing::Height(inch(6.25)),
            draw: inch(28.0),
            draw_to: DrawTo::Back,
            weight: Some(WeightReading { draw: inch(28.0), pull: 40.0 * 4.4482216152605 }),
            scale: vec![],
        },
        limbs: Both { upper: limb.clone(), lower: limb },
        string: BowString { diameter: 0.0032, loop_length: 0.0635, friction: 0.15, stiffness: None },
        nocks: Both { upper: nock.clone(), lower: nock },
        serves: Serves { brace_height: None, draw: [inch(28.0); 2] },
        sheets: SheetWishes { paper_thickness: 1e-4, date: None },
        making: StringMaking {
            strand_strength: None,
            times_weight: 4.0,
            lower_end: LowerEnd::Loop,
            tail: 0.2,
            knot: 0.25,
        },
        strength: StrengthWishes { shock_factor: 4.0, working_stress: None, glue: None, off_centre: 0.002 },
        tiller: TillerMeasures { measured: vec![], sure_to: 0.001, places: 3 },
    }
}

const OFFSETS: Both<f64> = Both { upper: 0.006, lower: 0.006 };

fn drawn(design: &Design, limb_steps: usize, steps: usize) -> Cycle {
    cycle(design, OFFSETS, limb_steps, steps).unwrap_or_else(|f| panic!("{f:?}"))
}

/// Bows that differ in what the laws could break on.
fn bows() -> Vec<Design> {
    let plain = flatbow();
    let mut pressed_low = flatbow();
    (pressed_low.bow.pivot, pressed_low.bow.nocking_point, pressed_low.bow.arrow_pass) =
        (inch(-1.5), inch(1.25), inch(1.25));
    let mut unequal = pressed_low.clone();
    unequal.limbs.lower.length = inch(33.0);
    unequal.limbs.lower.stations[2].thickness = inch(0.44);
    let mut reflexed = flatbow();
    for side in Side::BOTH {
        reflexed.limbs.get_mut(side).unstrung = vec![Offset { at: inch(34.0), set: inch(1.5) }];
    }
    let mut stretching = unequal.clone();
    stretching.string.stiffness = Some(40e3);
    vec![plain, pressed_low, unequal, reflexed, stretching, recurved(6.25), recurved_unequally()]
}

/// Ends bent so far that the braced string lies along them.
fn recurved(brace_height: f64) -> Design {
    let mut design = flatbow();
    design.bow.bracing = Bracing::Height(inch(brace_height));
    for side in Side::BOTH {
        let set = [(22.0, 0.0), (25.0, 0.4), (28.0, 1.6), (31.0, 3.6), (34.0, 6.0)];
        let limb = design.limbs.get_mut(side);
        limb.unstrung = set.map(|(at, set)| Offset { at: inch(at), set: inch(set) }).to_vec();
        limb.stations[1].thickness = inch(0.4);
    }
    design
}

/// The same with limbs that differ, another place to press, and a string that stretches.
fn recurved_unequally() -> Design {
    let mut design = recurved(5.5);
    (design.bow.pivot, design.bow.nocking_point, design.bow.arrow_pass) = (inch(-1.5), inch(1.25), inch(1.25));
    let lower = &mut design.limbs.lower;
    lower.stations[2].thickness = inch(0.45);
    lower.unstrung[4].set = inch(5.8);
    design.string.stiffness = Some(60e3);
    design
}

/// Whether the string lies on a belly, past its loop's throat, at brace.
fn lies(cycle: &Cycle, side: Side) -> bool {
    cycle.at_brace().limbs.get(side).lies_from_nock().is_some_and(|[throat, to]| to > throat + 1e-4)
}

/// The bows above and every example.
fn all_bows() -> Vec<Design> {
    let examples = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/examples")).unwrap();
    let mut files: Vec<_> =
        examples.map(|f| f.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "toml")).collect();
    files.sort();
    assert!(files.len() >= 5);
    let read = |path: &std::path::PathBuf| {
        let text = std::fs::read_to_string(path).unwrap();
        nockwright::design::file::read(&text, &path.display().to_string()).unwrap_or_else(|r| panic!("{r}")).design
    };
    bows().into_iter().chain(files.iter().map(read)).collect()
}

#[test]
fn work_under_the_draw_curve_is_the_energy_gained() {
    for design in all_bows() {
        // Where the string leaves a belly the curve has a corner, which a parabola cuts across: shorter steps there.
        let rough = drawn(&design, 48, 120);
        let cornered = Side::BOTH.iter().any(|s| rough.comes_free.get(*s).is_some());
        let cycle = if cornered { drawn(&design, 48, 600) } else { rough };
        let gap = (cycle.work / cycle.energy - 1.0).abs();
        assert!(gap < 1e-6, "{}: {} J of work, {} J gained", design.name, cycle.work, cycle.energy);
    }
}

#[test]
fn equal_limbs_stay_equal_and_upright() {
    let cycle = drawn(&flatbow(), 48, 20);
    for state in &cycle.states {
        assert!(state.tilt.abs() < 1e-9);
        let Both { upper, lower } = &state.limbs;
        assert!((upper.pull / lower.pull - 1.0).abs() < 1e-9);
        assert!((upper.string_angle - lower.string_angle).abs() < 1e-9);
    }
}

#[test]
fn a_bow_held_upside_down_gives_the_other_limb_s_answers() {
    upside_down(&bows()[2]);
    upside_down(&recurved_unequally());
}

fn upside_down(design: &Design) {
    let mut turned = design.clone();
    std::mem::swap(&mut turned.limbs.upper, &mut turned.limbs.lower);
    turned.bow.pivot = -design.bow.pivot;
    turned.bow.nocking_point = -design.bow.nocking_point;
    turned.bow.arrow_pass = -design.bow.arrow_pass;
    let (a, b) = (drawn(design, 48, 20), drawn(&turned, 48, 20));
    for (a, b) in a.states.iter().zip(&b.states) {
        assert!((a.tilt + b.tilt).abs() < 1e-9);
        for (one, other) in [(&a.limbs.upper, &b.limbs.lower), (&a.limbs.lower, &b.limbs.upper)] {
            assert!((one.pull / other.pull - 1.0).abs() < 1e-9);
            assert!((one.string_angle - other.string_angle).abs() < 1e-9);
            assert_eq!(one.lying.is_some(), other.lying.is_some());
            if let (Some(one), Some(other)) = (&one.lying, &other.lying) {
                assert!((one.lift_off - other.lift_off).abs() < 1e-9);
            }
        }
    }
    assert!((a.at_full_draw().limbs.upper.string_angle - a.at_full_draw().limbs.lower.string_angle).abs() > 1e-3);
}

#[test]
fn halving_the_step_moves_no_string_angle_by_a_hundredth_of_a_degree() {
    for design in all_bows() {
        let (coarse, fine) = (drawn(&design, 48, 20), drawn(&design, 96, 40));
        for (k, state) in coarse.states.iter().enumerate() {
            let twin = &fine.states[2 * k];
            for side in Side::BOTH {
                let moved = state.limbs.get(side).string_angle - twin.limbs.get(side).string_angle;
                assert!(moved.to_degrees().abs() < 0.01, "{} step {k}: {}", design.name, moved.to_degrees());
            }
        }
    }
}

#[test]
fn draw_is_measured_three_ways() {
    let full = |to: DrawTo| {
        let mut design = flatbow();
        design.bow.draw_to = to;
        design.bow.weight = None;
        drawn(&design, 48, 4).at_full_draw().to_pivot
    };
    // In this bow arrow, pivot and nocking point lie on one line: the three readings differ by the handle's depth and
    // by 1 3/4 in.
    assert!((full(DrawTo::Pivot) - inch(28.0)).abs() < 1e-9);
    assert!((full(DrawTo::Back) - inch(26.5)).abs() < 1e-9);
    assert!((full(DrawTo::PivotPlus) - inch(26.25)).abs() < 1e-9);
}

#[test]
fn a_string_length_braces_the_bow_to_the_height_it_came_from() {
    for design in bows() {
        let mut by_string = design.clone();
        let wanted = drawn(&design, 48, 4).braced;
        by_string.bow.bracing = Bracing::StringLength(wanted.string_length);
        let found = drawn(&by_string, 48, 4).braced;
        assert!((found.brace_height - wanted.brace_height).abs() < 1e-8);
        assert!((found.pull / wanted.pull - 1.0).abs() < 1e-6);
    }
}

/// Forces on the whole bow balance: both pulls at the nocking point add up to the hand's force, whose line runs through
/// the pivot; each root's moment is the pull's moment about it.
#[test]
fn forces_and_moments_balance() {
    for design in bows() {
        for state in &drawn(&design, 48, 10).states[1..] {
            let mut sum = [0.0; 2];
            for side in Side::BOTH {
                let limb = state.limbs.get(side);
                let part = [state.nocking_point[0] - limb.leaves[0], state.nocking_point[1] - limb.leaves[1]];
                let gap = part[0].hypot(part[1]);
                let pull = part.map(|v| v / gap * limb.pull);
                sum = [sum[0] + pull[0], sum[1] + pull[1]];
                let mirror = if side == Side::Upper { 1.0 } else { -1.0 };
                let bent = &limb.bent;
                let arm = [limb.leaves[0] - bent.x[0], mirror * limb.leaves[1] - bent.y[0]];
                let moment = arm[1] * pull[0] - arm[0] * mirror * pull[1];
                assert!((moment / bent.moment[0] - 1.0).abs() < 1e-9);
                let tangent = [bent.angle[bent.angle.len() - 1].sin(), bent.angle[bent.angle.len() - 1].cos()];
                let angle = (-(part[0] * tangent[0] + mirror * part[1] * tangent[1]) / gap).acos();
                let wanted = limb.lying.as_ref().map_or(limb.string_angle, |lying| lying.strand_angle.abs());
                assert!((angle - wanted).abs() < 1e-7, "{}: {angle} {wanted}", design.name);
            }
            assert!((sum[0].hypot(sum[1]) / state.force - 1.0).abs() < 1e-9);
            let arm = [state.nocking_point[0], state.nocking_point[1] - design.bow.pivot];
            assert!((arm[0] * sum[1] - arm[1] * sum[0]).abs() < 1e-9 * state.force);
        }
    }
}

#[test]
fn what_cannot_be_braced_or_drawn_is_named() {
    let fault = |change: &dyn Fn(&mut Design)| {
        let mut design = flatbow();
        change(&mut design);
        cycle(&design, OFFSETS, 48, 10).map(|c| c.braced.brace_height).unwrap_err()
    };
    assert_eq!(fault(&|d| d.bow.bracing = Bracing::Height(inch(40.0))).key, "bow.brace_height");
    assert_eq!(fault(&|d| d.bow.bracing = Bracing::Height(inch(-3.0))).key, "bow.brace_height");
    assert_eq!(fault(&|d| d.bow.bracing = Bracing::StringLength(inch(90.0))).key, "bow.string_length");
    assert_eq!(fault(&|d| d.bow.draw = inch(80.0)).key, "bow.draw");
    assert_eq!(fault(&|d| d.bow.weight = Some(WeightReading { draw: inch(75.0), pull: 100.0 })).key, "bow.weight");
    // Between two bulges the string would hang over a hollow, or touch the second one by itself.
    let waved = |height: f64| {
        fault(&|d| {
            d.bow.bracing = Bracing::Height(inch(height));
            let set = [(22.0, 0.0), (25.0, 1.5), (28.0, 3.0), (29.0, 3.2), (30.0, 3.8), (34.0, 6.0)];
            for side in Side::BOTH {
                d.limbs.get_mut(side).unstrung = set.map(|(at, set)| Offset { at: inch(at), set: inch(set) }).to_vec();
            }
        })
    };
    for (height, words) in [(4.0, "once more lie along the upper limb's belly"), (2.0, "between two bulges")] {
        let waved = waved(height);
        assert_eq!(waved.key, "upper.limb.unstrung");
        assert!(waved.what.contains(words), "{waved:?}");
    }
}

#[test]
fn a_loop_too_short_to_clear_the_belly_is_told_the_length_that_does() {
    let braced = |half: f64| {
        let mut design = flatbow();
        design.string.loop_length = half;
        cycle(&design, OFFSETS, 96, 10)
    };
    let short = braced(0.02).unwrap_err();
    assert_eq!(short.key, "string.loop");
    let told: f64 =
        short.cure.split(['(', ' ']).find_map(|word| word.parse::<f64>().ok().filter(|v| *v > 20.0)).unwrap();
    assert!(braced(told * 1e-3 + 1e-4).is_ok(), "{short:?}");
    assert!(braced(told * 1e-3 - 8e-3).is_err(), "{short:?}");
}

#[test]
fn a_string_on_a_recurve_comes_free_in_the_draw() {
    for design in [recurved(6.25), recurved_unequally()] {
        let cycle = drawn(&design, 48, 40);
        for side in Side::BOTH {
            assert!(lies(&cycle, side), "{}", side.name());
            let free = cycle.comes_free.get(side).unwrap();
            let mut to_before = f64::INFINITY;
            for state in &cycle.states {
                let limb = state.limbs.get(side);
                assert_eq!(limb.lying.is_some(), state.draw < free);
                if let (Some([throat, to]), Some(lying)) = (limb.lies_from_nock(), &limb.lying) {
                    // It unrolls from the handle's side outward, and its legs pull harder than the strand.
                    assert!(to >= throat && to <= to_before && lying.leg_pull >= limb.pull);
                    to_before = to;
                }
            }
            // The string angle at the nock stays at its least until then and rises from there without a jump.
            let angles: Vec<f64> = cycle.states.iter().map(|s| s.limbs.get(side).string_angle).collect();
            assert!(angles.windows(2).all(|w| w[1] >= w[0] - 1e-12));
            let resting = cycle.states.iter().filter(|s| s.draw < free).count();
            assert!((angles[resting - 1] - angles[0]).abs() < 0.01);
            let steepest = angles.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
            assert!(angles[resting] - angles[resting - 1] < 1.01 * steepest);
        }
    }
}

/// A limb reflexed in its middle more than at its tip: at one string angle several pulls hold it, and the least of them is a braced bow's.
#[test]
fn a_limb_reflexed_in_its_middle_takes_a_string() {
    let reflexed = include_str!("../examples/reflexed-bow.toml");
    let straight_tip = reflexed.replace("at = \"33 in\", set = \"+1 3/4 in\"", "at = \"33 in\", set = \"0 in\"");
    assert_ne!(reflexed, straight_tip);
    let shorter = straight_tip.replace("\"66 in\"", "\"65 in\"");
    let thicker = straight_tip.replace("thickness = \"7/16 in\" },\n]", "thickness = \"17/32 in\" },\n]");
    for text in [shorter, thicker] {
        assert_ne!(text, straight_tip);
        let design = nockwright::design::file::read(&text, "bow.toml").unwrap().design;
        let braced = drawn(&design, 48, 4).braced;
        assert!((braced.brace_height - inch(6.5)).abs() < 1e-9, "{}", braced.brace_height);
    }
}
