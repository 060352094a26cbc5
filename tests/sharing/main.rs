//! Sharing as a person does it: the built program with `class`, `recover`, `verify` and `printer`.
#![allow(clippy::unwrap_used)]

mod class;
mod printer;
mod recover;
mod verify;
mod verify_around;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// How a run of the program ended.
struct Run {
    code: Option<i32>,
    shown: String,
    said: String,
    bytes: Vec<u8>,
}

/// An empty folder for one test; the program runs in it and keeps its settings in it.
struct Bench(PathBuf);

impl Bench {
    fn new(name: &str) -> Bench {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("sharing-{name}"));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let bench = Bench(folder);
        bench.put("base.toml", &sample());
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn put(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).unwrap();
    }

    fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    fn run(&self, words: &[&str]) -> Run {
        self.run_with(words, &[])
    }

    fn run_with(&self, words: &[&str], settings: &[(&str, &str)]) -> Run {
        let output = Command::new(env!("CARGO_BIN_EXE_nockwright"))
            .args(words)
            .current_dir(&self.0)
            .env("XDG_CONFIG_HOME", self.path("settings"))
            .envs(settings.iter().copied())
            .output()
            .unwrap();
        Run {
            code: output.status.code(),
            shown: String::from_utf8_lossy(&output.stdout).into_owned(),
            said: String::from_utf8_lossy(&output.stderr).into_owned(),
            bytes: output.stdout,
        }
    }

    /// Names and bytes of the files in a folder.
    fn files(&self, folder: &str) -> BTreeMap<String, Vec<u8>> {
        let files = std::fs::read_dir(self.path(folder)).unwrap().map(|e| e.unwrap());
        files.map(|e| (e.file_name().into_string().unwrap(), std::fs::read(e.path()).unwrap())).collect()
    }
}

fn sample() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/ash-flatbow.toml");
    std::fs::read_to_string(path).unwrap()
}
