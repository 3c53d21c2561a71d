//! What a person called, laid over a case: the measurement stays as it is.

use super::case::Case;
use super::judged::Decided;
use super::row::Row;
use super::said::Said;
use nde_core::calls::{CallEvent, Called};
use nde_core::{Judgement, Length};

impl Case {
    /// The same case as called; `raw` is what was concluded without any call.
    #[must_use]
    pub(crate) fn with_calls(
        mut self,
        called: &Called,
        events: &[CallEvent],
        raw: &Judgement,
        judgement: &Judgement,
    ) -> Self {
        let measured = self.indications.len();
        for (n, added) in called.indications.iter().enumerate().skip(measured) {
            self.indications.push(Row::of(added, judgement.indications.get(n)));
        }
        for (n, row) in self.indications.iter_mut().enumerate() {
            let (Some(indication), Some(stands)) =
                (called.indications.get(n), called.stands.get(n))
            else {
                continue;
            };
            row.relevance = indication.relevance;
            row.label.clone_from(&indication.label);
            let call = stands.called.and_then(|at| events.get(at));
            let size = stands.sized.and_then(|at| events.get(at));
            if call.is_none() && size.is_none() {
                continue;
            }
            let told = call.or(size);
            row.said = Some(Said {
                reason: told.and_then(|e| e.reason.clone()),
                by: told.and_then(|e| e.by.clone()),
                when: told.and_then(|e| e.when.clone()),
                own_length_mm: size.and_then(|e| e.own_length).map(Length::mm),
                own_width_mm: size.and_then(|e| e.own_width).map(Length::mm),
                added: stands.added,
            });
        }
        self.uncalled = Some(Decided::of(raw));
        self
    }
}
