//! The program run in the folder of the examples, on a terminal of 100 columns.
#![allow(clippy::unwrap_used, reason = "shared by tests")]

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Exit code, standard output and standard error.
pub(crate) fn run(args: &[&str]) -> (i32, String, String) {
    let examples = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let output = Command::new(env!("CARGO_BIN_EXE_coilwright"))
        .args(args)
        .env("COLUMNS", "100")
        .current_dir(examples)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// What a command writes as JSON. Asked once, whoever asks again: the same question has the same answer.
pub(crate) fn json(args: &[&str]) -> Value {
    static ASKED: Mutex<BTreeMap<String, Arc<OnceLock<Value>>>> = Mutex::new(BTreeMap::new());
    let answer = {
        let mut asked = ASKED.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(asked.entry(args.join(" ")).or_default())
    };
    answer
        .get_or_init(|| {
            let (code, out, told) = run(&[args, &["--json"]].concat());
            assert_eq!(code, 0, "{args:?}: {told}");
            serde_json::from_str(&out).unwrap_or_else(|e| panic!("{args:?}: {e}"))
        })
        .clone()
}
