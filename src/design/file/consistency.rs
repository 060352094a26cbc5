//! Do the values go together? Each fault names the key to blame; the table of places finds it.

use crate::design::{Both, Bracing, DrawTo, Limb, SectionForm, Side, StrengthWishes, Units};
use crate::fault::Fault;
use crate::findings::Quantity;
use crate::units::{plain_length_text, quantity_text};

use super::bow::{BowParts, Range, StringParts};
use super::limb::{LimbParts, SHORT_OF_NOCK};
use super::reader::Reader;
use super::tables::Held;

/// Lengths that should add up may miss by this, m: a sixteenth of an inch, as well as a tape is read.
const TAPE: f64 = 0.0016;

/// Handle, pivot, brace height, draw.
pub(super) fn bow(reader: &mut Reader, bow: &BowParts, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    if let (Some(length), Some(handle)) = (bow.length, bow.stiff_handle)
        && handle > 0.6 * length
    {
        let what = format!("a stiff handle of {} leaves little of a bow of {}", text(handle), text(length));
        let why = format!("at most 60 % of the bow, {}, may be stiff; the limbs have to bend", text(0.6 * length));
        reader.fault(
            Fault::at("bow.stiff_handle", what, why).cure("give only the part about the middle that does not bend"),
        );
    }
    if let Some(handle) = bow.stiff_handle {
        for (key, value, name) in [("bow.pivot", bow.pivot, "pivot"), ("bow.arrow_pass", bow.arrow_pass, "arrow pass")]
        {
            let Some(value) = value.filter(|v| v.abs() > handle / 2.0 + 1e-9) else { continue };
            let what = format!("the {name}, {} from the middle, lies outside the stiff handle", text(value));
            let why = format!(
                "the handle reaches {} either way from the middle, and the hand holds it there",
                text(handle / 2.0)
            );
            let fault = Fault::at(key, what, why)
                .cure(format!("measure {name} from the middle of the bow, minus below it; or lengthen stiff_handle"));
            // An arrow that passes beyond the stiff part is odd, but can be shot.
            if name == "pivot" { reader.fault(fault) } else { reader.remark(fault) }
        }
    }
    if let (Some(pivot), Some(nocking_point)) = (bow.pivot, bow.nocking_point)
        && (nocking_point - pivot).abs() > 0.13
    {
        let what = format!("the nocking point is {} from the pivot", text((nocking_point - pivot).abs()));
        let why = "a hand's breadth is usual; farther apart the bow turns in the hand";
        reader.remark(Fault::at("bow.nocking_point", what, why));
    }
    if let (Some(length), Some(Bracing::StringLength(string))) = (bow.length, bow.bracing)
        && string >= length
    {
        let what = format!("a string of {} does not brace a bow of {}", text(string), text(length));
        let why = "nock to nock the string must be shorter than the bow is along its back";
        reader.fault(
            Fault::at("bow.string_length", what, why)
                .cure("measure the string from nock seat to nock seat, or give brace_height"),
        );
    }
    if let (Some(length), Some(brace)) = (bow.length, bow.brace_height())
        && brace > 0.35 * length
    {
        let what = format!("a brace height of {} is too much for a bow of {}", text(brace), text(length));
        let why = format!("beyond about a third of the length, {}, no string holds the bow so", text(0.35 * length));
        reader.fault(
            Fault::at("bow.brace_height", what, why)
                .cure("measure from the deepest part of the grip square to the string"),
        );
    }
    draw(reader, bow, units);
}

/// The working stress against what the limbs' wood bears.
pub(super) fn working_stress(
    reader: &mut Reader,
    strength: Option<&StrengthWishes>,
    limbs: [Option<&Limb>; 2],
    units: Units,
) {
    let Some(stress) = strength.and_then(|s| s.working_stress) else { return };
    let ruptures = limbs.into_iter().flatten().filter_map(|limb| Some((limb, limb.wood.rupture.as_ref()?)));
    let Some((limb, rupture)) = ruptures.min_by(|a, b| a.1.value.total_cmp(&b.1.value)) else { return };
    if stress <= rupture.value {
        return;
    }
    let text = |pascals: f64| quantity_text(pascals, Quantity::Stress, units);
    let what = format!("a working stress of {} is more than {} bears", text(stress), limb.wood.name);
    let why = format!(
        "up to the wood's modulus of rupture, {} ({}): above it clear straight-grained wood breaks in a slow test",
        text(rupture.value),
        rupture.source
    );
    reader.fault(Fault::at("strength.working_stress", what, why).cure(
        "give a lower one, or leave it out for the limb's greatest at full draw; if your wood bears more, give its rupture in [limb]",
    ));
}

/// The draw against brace height, and the weight's draw likewise.
fn draw(reader: &mut Reader, bow: &BowParts, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    let Some(brace) = bow.brace_height() else { return };
    let reading = match bow.draw_to {
        Some(DrawTo::Back) => "measured to the back",
        Some(DrawTo::Pivot) => "measured to the pivot",
        Some(DrawTo::PivotPlus) => "measured to 1 3/4 in beyond the pivot",
        None => return,
    };
    let weight_draw = bow.weight.flatten().map(|w| w.draw);
    for (key, draw, name) in [("bow.draw", bow.draw, "draw"), ("bow.weight.at", weight_draw, "draw of the weight")] {
        let Some(draw) = draw else { continue };
        let Some(true_draw) = bow.true_draw(draw) else { continue };
        if true_draw <= brace + 0.005 {
            // Blame the measure typed for this run, where only one of the two was.
            let key = if reader.places.is_typed("bow.brace_height") && !reader.places.is_typed(key) {
                "bow.brace_height"
            } else {
                key
            };
            let what =
                format!("the {name}, {} {reading}, does not reach past the brace height, {}", text(draw), text(brace));
            let why = format!(
                "from the pivot this draw is {}, and the braced string already stands at {}",
                text(true_draw),
                text(brace)
            );
            reader.fault(Fault::at(key, what, why).cure("check both measures, and draw_to"));
        }
    }
}

/// Stations, profile and lengths of both limbs against the bow and the string.
pub(super) fn limbs(reader: &mut Reader, bow: &BowParts, limbs: &Both<LimbParts>, string: &StringParts, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    if let (Held::Is(upper), Held::Is(lower), Some(length)) = (limbs.upper.length, limbs.lower.length, bow.length)
        && (upper + lower - length).abs() > TAPE
    {
        let what = format!("limbs of {} and {} do not make a bow of {}", text(upper), text(lower), text(length));
        let why = "bow.length is nock to nock, and each limb's length is from the middle to its nock";
        let key = if reader.places.has(&limbs.upper.length_path) {
            &limbs.upper.length_path
        } else {
            &limbs.lower.length_path
        };
        let cure = format!("give one limb's length alone, or make bow.length {}", text(upper + lower));
        reader.fault(Fault::at(key.as_str(), what, why).cure(cure));
    }
    for side in Side::BOTH {
        let limb = limbs.get(side);
        let whose = if limbs.upper.length == limbs.lower.length {
            String::new()
        } else {
            format!(" of the {} limb", side.name())
        };
        stations(reader, bow, limb, &whose, units);
        profile(reader, bow, limb, &whose, units);
        let (Held::Is(length), Some(loop_length)) = (limb.length, string.loop_length) else { continue };
        if let Some(handle) = bow.stiff_handle {
            if length <= handle / 2.0 + 0.05 {
                let what = format!("a limb of {} hardly reaches out of the stiff handle", text(length));
                let why = format!("the handle takes {} of it, and a limb has to bend", text(handle / 2.0));
                reader.fault(
                    Fault::at(limb.length_path.as_str(), what, why)
                        .cure("check bow.length, stiff_handle and the limbs' lengths"),
                );
            } else if loop_length >= 0.5 * (length - handle / 2.0) {
                let what = format!("a loop of {} reaches over half the limb", text(loop_length));
                let why = format!(
                    "from handle to nock the limb is {}; a loop's legs meet near the tip",
                    text(length - handle / 2.0)
                );
                reader.fault(
                    Fault::at("string.loop", what, why)
                        .cure("measure from the nock to the throat, where the loop's legs meet"),
                );
            }
        }
    }
    if let (Some(diameter), Some(loop_length)) = (string.diameter, string.loop_length)
        && loop_length < 4.0 * diameter
    {
        let what = format!("a loop of {} is short for a string {} thick", text(loop_length), text(diameter));
        let why = "shorter than four diameters, the legs stand so wide that each carries far more than half the pull";
        reader.remark(Fault::at("string.loop", what, why));
    }
}

fn stations(reader: &mut Reader, bow: &BowParts, limb: &LimbParts, whose: &str, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    let (Some(stations), path) = (&limb.stations, &limb.stations_path) else { return };
    let mut in_order = true;
    for (i, pair) in stations.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        if b.at <= a.at + 1e-6 {
            in_order = false;
            let what = if b.at >= a.at - 1e-6 {
                format!("two stations stand at {}", text(b.at))
            } else {
                format!("the station at {} comes after the one at {}", text(b.at), text(a.at))
            };
            let why = "stations run from the handle outward, each farther from the middle than the one before";
            let fault = Fault::at(format!("{path}[{}].at", i + 1), what, why);
            reader.fault(fault.cure("put the stations in order, or check the figure"));
        }
    }
    let (Some(first), Some(last)) = (stations.first(), stations.last()) else { return };
    if !in_order {
        return;
    }
    if let Some(handle) = bow.stiff_handle.filter(|handle| first.at > handle / 2.0 + 1e-6) {
        let what = format!(
            "the first station, at {}, lies beyond the end of the stiff handle, at {}",
            text(first.at),
            text(handle / 2.0)
        );
        let why = "the limb begins to bend where the handle ends, and its size there decides how much";
        let cure = format!(
            "measure the limb at {} as well, or lengthen stiff_handle to {}",
            text(handle / 2.0),
            text(2.0 * first.at)
        );
        reader.fault(Fault::at(format!("{path}[0].at"), what, why).cure(cure));
    }
    if let Held::Is(length) = limb.length {
        let end = format!("{path}[{}].at", stations.len() - 1);
        if last.at < length - SHORT_OF_NOCK {
            let what = format!(
                "the last station{whose}, at {}, ends {} short of the nock",
                text(last.at),
                text(length - last.at)
            );
            let why = format!(
                "the nock is {} from the middle; the limb's end shapes both the bend and the nock",
                text(length)
            );
            reader.fault(Fault::at(end, what, why).cure(format!("measure the limb at {} as well", text(length))));
        } else if last.at > length + 0.15 {
            let what = format!(
                "the last station{whose}, at {}, lies {} beyond the nock",
                text(last.at),
                text(last.at - length)
            );
            let why = format!("the nock is {} from the middle, and only a tip stands beyond it", text(length));
            reader
                .fault(Fault::at(end, what, why).cure("measure stations from the middle of the bow; check bow.length"));
        }
    }
    if let Some(SectionForm::RoundedRectangle { corner }) = limb.section {
        let least = stations.iter().map(|s| s.thickness.min(s.width)).fold(f64::INFINITY, f64::min);
        if 2.0 * corner > least + 1e-9 {
            let what =
                format!("a corner radius of {} is more than half the limb's least size, {}", text(corner), text(least));
            let why = "there the corner is rounded as far as it goes, to a full half round";
            reader.remark(Fault::at(path.replace(".stations", ".corner"), what, why));
        }
    }
    for (i, s) in stations.iter().enumerate() {
        if s.thickness > 2.5 * s.width {
            let what =
                format!("at {} the limb is {} thick and only {} wide", text(s.at), text(s.thickness), text(s.width));
            let why = "so deep a limb tends to bend sideways; are width and thickness swapped?";
            reader.remark(Fault::at(format!("{path}[{i}].thickness"), what, why));
        }
    }
}

fn profile(reader: &mut Reader, bow: &BowParts, limb: &LimbParts, whose: &str, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    let (Some(offsets), path) = (&limb.unstrung, &limb.unstrung_path) else { return };
    for (i, pair) in offsets.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        if b.at <= a.at + 1e-6 {
            let what = format!("the place at {} does not lie beyond the one at {}", text(b.at), text(a.at));
            let why = "the unstrung profile runs from the handle outward";
            reader.fault(Fault::at(format!("{path}[{}].at", i + 1), what, why).cure("put the places in order"));
            return;
        }
    }
    let start = bow.stiff_handle.unwrap_or(0.0) / 2.0;
    let mut from = (start, 0.0);
    for (i, offset) in offsets.iter().enumerate() {
        if offset.at <= start + 1e-6 {
            if offset.set.abs() > TAPE {
                let what =
                    format!("the stiff handle is set {} off the straight at {}", text(offset.set), text(offset.at));
                let why = "set is measured from the straight line along the handle's back, which does not bend";
                reader.fault(
                    Fault::at(format!("{path}[{i}].set"), what, why).cure("give only places beyond the stiff handle"),
                );
            }
            continue;
        }
        let slope = (offset.set - from.1) / (offset.at - from.0).max(1e-9);
        if slope.abs() > 1.0 {
            let what = format!("the unstrung limb turns by more than 45° before {}", text(offset.at));
            let why = "set is measured along the limb, where so steep a turn cannot be told from a kink";
            reader.fault(
                Fault::at(format!("{path}[{i}].set"), what, why)
                    .cure("check the figures; is set in another unit than at?"),
            );
        }
        from = (offset.at, offset.set);
        if let Held::Is(length) = limb.length
            && offset.at > length + 0.15
        {
            let what = format!("the place at {} lies beyond the nock{whose}, at {}", text(offset.at), text(length));
            reader.fault(
                Fault::at(format!("{path}[{i}].at"), what, "the profile ends at the tip")
                    .cure("measure from the middle of the bow"),
            );
        }
    }
}

/// The range must hold the bow's own measures, unless those were typed for one run.
pub(super) fn serves(reader: &mut Reader, bow: &BowParts, range: &Range, units: Units) {
    let text = |metres: f64| plain_length_text(metres, units);
    let each = [
        ("brace_height", "brace height", range.brace_height, bow.brace_height()),
        ("draw", "draw", range.draw, bow.draw),
    ];
    for (name, words, ends, own) in each {
        let (Held::Is([low, high]), Some(own)) = (ends, own) else { continue };
        if (low - 1e-6..=high + 1e-6).contains(&own) {
            continue;
        }
        let (key, own_key) = (format!("range.{name}"), format!("bow.{name}"));
        let span = format!("from {} to {}", text(low), text(high));
        if reader.places.is_typed(&own_key) {
            let what = format!(
                "the {words} of this run, {}, lies outside the file's range {span}; the range is widened to it",
                text(own)
            );
            reader.remark(Fault::at(own_key, what, "the nock is designed for all that it must serve"));
        } else {
            let what = format!("the range of {words}, {span}, does not hold the bow's own, {}", text(own));
            let why = "the nock must serve the whole range, and the bow's own measure with it";
            reader.fault(
                Fault::at(key, what, why).cure(format!("widen the range to {}, or correct bow.{name}", text(own))),
            );
        }
    }
    if let (Held::Is([_, brace]), Some(draw)) = (range.brace_height, bow.draw) {
        let shortest = match range.draw {
            Held::Is([low, _]) => low,
            _ => draw,
        };
        if bow.true_draw(shortest).is_some_and(|d| d <= brace + 0.005) {
            let what = format!(
                "the shortest draw, {}, does not reach past the highest brace height, {}",
                text(shortest),
                text(brace)
            );
            reader.fault(
                Fault::at("range.brace_height", what, "every draw of the range starts from every brace height of it")
                    .cure("check both ranges, and draw_to"),
            );
        }
    }
}
