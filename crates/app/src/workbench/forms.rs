//! Forms to begin with: the sheets that `new` writes.

use crate::ask::{Form, template};
use serde::Serialize;

/// A form with its sheet.
#[derive(Debug, Serialize)]
pub(super) struct Beginner {
    form: &'static str,
    text: String,
}

/// Every form.
pub(super) fn forms() -> Vec<Beginner> {
    Form::ALL.map(|form| Beginner { form: form.word(), text: template(form) }).into()
}
