//! What was worked out last: a text is read and its bow braced once, whatever is asked of it, and a form that the page shows
//! already is sent only as far as it differs.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use super::fields::{Field, Group};
use crate::bow::draw_curve::DRAW_STEPS;
use crate::design::file::{Overrides, Reading, Refusal, read_bytes};
use crate::worked::{Statics, Worked, nocks};

/// Texts and forms that are kept: a few pages may be open, and undo goes back and forth.
const KEPT: usize = 4;

/// A text read and worked through.
pub(super) struct Taken {
    pub reading: Result<Reading, Refusal>,
    /// None where the text is refused as it stands.
    pub worked: Option<Result<Worked, Refusal>>,
}

/// A form as it is sent.
pub(super) struct Form {
    /// A mark to name it by.
    pub mark: u64,
    /// All of it; none where only fields differ.
    pub groups: Option<Vec<Group>>,
    /// The fields that differ.
    pub fields: Vec<Field>,
}

/// What is kept.
#[derive(Default)]
pub(super) struct Memory {
    taken: Mutex<VecDeque<(String, Arc<Taken>)>>,
    forms: Mutex<Forms>,
}

/// The forms that were sent last, by their marks.
#[derive(Default)]
struct Forms {
    last: u64,
    kept: VecDeque<(u64, Vec<Group>)>,
}

impl Memory {
    /// The text read and worked through to its nocks; what the last texts gave is not worked out again.
    pub fn taken(&self, text: &str) -> Arc<Taken> {
        let kept = || self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, found)) = kept().iter().find(|(known, _)| known == text) {
            return found.clone();
        }
        let new = Arc::new(take(text));
        let mut kept = kept();
        kept.truncate(KEPT - 1);
        kept.push_front((text.to_owned(), new.clone()));
        new
    }

    /// The form as a page is to be sent it that shows the form marked `shown`.
    pub fn form(&self, groups: Vec<Group>, shown: Option<u64>) -> Form {
        let mut forms = self.forms.lock().unwrap_or_else(PoisonError::into_inner);
        let Forms { last, kept } = &mut *forms;
        *last += 1;
        let mark = *last;
        let known = kept.iter().find(|(mark, _)| Some(*mark) == shown).map(|(_, groups)| groups);
        let differing = known.and_then(|known| differing(known, &groups));
        kept.truncate(KEPT - 1);
        kept.push_front((mark, groups.clone()));
        match differing {
            Some(fields) => Form { mark, groups: None, fields },
            None => Form { mark, groups: Some(groups), fields: Vec::new() },
        }
    }
}

/// Reads the text, braces and draws the bow and lays its nocks out.
fn take(text: &str) -> Taken {
    let mut accepted = match read_bytes(text.as_bytes(), "design", &Overrides::default()) {
        Ok(accepted) => accepted,
        refused => return Taken { reading: refused, worked: None },
    };
    let design = &accepted.design;
    let worked = Statics::of(design, DRAW_STEPS)
        .map_err(|fault| vec![fault])
        .and_then(|statics| nocks(design, &statics).map(|nocks| Worked::with(design.clone(), statics, nocks)));
    let worked = worked.map_err(|faults| accepted.places.refusal(faults));
    Taken { reading: Ok(accepted), worked: Some(worked) }
}

/// The fields in which two forms differ, if they have the same groups, lists and fields.
fn differing(known: &[Group], now: &[Group]) -> Option<Vec<Field>> {
    let alike = known.len() == now.len() && known.iter().zip(now).all(|(a, b)| a.same_shape(b));
    let fields = || known.iter().flat_map(Group::all).zip(now.iter().flat_map(Group::all));
    alike.then(|| fields().filter(|(a, b)| !a.shows_as(b)).map(|(_, b)| b.clone()).collect())
}

#[cfg(test)]
mod tests {
    use super::super::edit::Written;
    use super::super::fields::groups;
    use super::*;
    use crate::samples::SAMPLE;

    #[test]
    fn a_text_is_worked_out_once() {
        let memory = Memory::default();
        let first = memory.taken(SAMPLE);
        assert!(matches!(first.worked, Some(Ok(_))));
        assert!(Arc::ptr_eq(&first, &memory.taken(SAMPLE)));
        for k in 0..KEPT {
            memory.taken(&format!("{k}"));
        }
        assert!(!Arc::ptr_eq(&first, &memory.taken(SAMPLE)));
    }

    #[test]
    fn a_form_that_is_shown_is_sent_as_far_as_it_differs() {
        let memory = Memory::default();
        let form = |text: &str| groups(&Written::new(text), memory.taken(text).reading.as_ref().ok());
        let first = memory.form(form(SAMPLE), None);
        assert!(first.groups.is_some());
        let other = SAMPLE.replace("= \"6 1/4 in\"", "= \"6 1/2 in\"");
        let second = memory.form(form(&other), Some(first.mark));
        assert!(second.groups.is_none() && second.mark != first.mark);
        assert!(second.fields.iter().any(|f| f.key == "bow.brace_height"));
        assert!(second.fields.len() < 12, "{}", second.fields.len());
        // An unknown form is sent whole, and so is one of another shape.
        assert!(memory.form(form(&other), Some(99)).groups.is_some());
        let straight = SAMPLE.replace("back overlay", "straight groove");
        assert_ne!(straight, SAMPLE);
        assert!(memory.form(form(&straight), Some(second.mark)).groups.is_some());
    }
}
