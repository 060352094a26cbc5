//! Writing whole or not at all: the program is killed at random moments, and runs out of room.
#![allow(clippy::unwrap_used)]
#![cfg(unix)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_nockwright");

fn sample() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/ash-flatbow.toml");
    std::fs::read_to_string(path).unwrap()
}

/// An empty folder for one test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("writing-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn templates(design: &Path, out: &Path) -> Command {
    let mut command = Command::new(PROGRAM);
    command.arg("templates").arg(design).arg("--out").arg(out).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Names and bytes of all files that a person would see.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| (e.file_name().into_string().unwrap(), e.path()))
        .filter(|(name, _)| !name.starts_with('.'))
        .map(|(name, path)| (name, std::fs::read(path).unwrap()))
        .collect()
}

fn hidden(folder: &Path) -> usize {
    let names = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
    names.filter(|n| n.starts_with('.')).count()
}

#[test]
fn killed_at_fifty_random_moments_every_file_is_whole_and_none_is_lost() {
    let folder = folder("killed");
    let designs = ["first", "second"].map(|word| {
        let path = folder.join(format!("{word}.toml"));
        std::fs::write(&path, format!("{}# {word}\n", sample())).unwrap();
        path
    });
    // What either design gives, whole.
    let whole = designs.clone().map(|design| {
        let out = folder.join(format!("whole-{}", design.file_stem().unwrap().to_str().unwrap()));
        templates(&design, &out).status().unwrap();
        files(&out)
    });
    assert!(whole[0].len() >= 2 && whole[0] != whole[1] && whole[0].keys().eq(whole[1].keys()));
    let out = folder.join("out");
    let start = Instant::now();
    templates(&designs[0], &out).status().unwrap();
    let run = start.elapsed();
    let mut state: u64 = 42;
    let mut share = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / (1u64 << 24) as f64
    };
    let mut while_writing = 0;
    for round in 0..50 {
        let mut program = templates(&designs[(round + 1) % 2], &out).spawn().unwrap();
        if round % 2 == 0 {
            // Any moment of the run.
            std::thread::sleep(run.mul_f64(share()));
        } else {
            // A moment of the writing: from the first hidden file on.
            let start = Instant::now();
            while hidden(&out) == 0 && start.elapsed() < run * 20 && program.try_wait().unwrap().is_none() {}
            std::thread::sleep(Duration::from_micros((share() * 4000.0) as u64));
        }
        program.kill().unwrap();
        program.wait().unwrap();
        while_writing += usize::from(hidden(&out) > 0);
        let found = files(&out);
        assert!(found.keys().eq(whole[0].keys()), "round {round}: {:?}", found.keys());
        for (name, bytes) in &found {
            assert!(
                whole.iter().any(|w| w[name] == *bytes),
                "round {round}: {name} is neither the old nor the new one"
            );
        }
        for path in std::fs::read_dir(&out).unwrap().map(|e| e.unwrap().path()) {
            // The next round begins as after a kill, but its first hidden file must be its own.
            if path.file_name().unwrap().to_str().unwrap().starts_with('.') && round % 4 != 0 {
                std::fs::remove_file(path).unwrap();
            }
        }
    }
    assert!(while_writing >= 5, "only {while_writing} kills fell into the writing");
    // The next run is as good as ever, and clears up.
    templates(&designs[1], &out).status().unwrap();
    assert_eq!(files(&out), whole[1]);
    assert_eq!(hidden(&out), 0);
}

/// No file may grow over a limit of the system: writing fails half way as it does on a full disk.
#[test]
fn without_room_nothing_is_lost_and_the_fault_is_clear() {
    let folder = folder("full");
    let design = folder.join("design.toml");
    std::fs::write(&design, sample()).unwrap();
    let out = folder.join("out");
    templates(&design, &out).status().unwrap();
    let before = files(&out);
    std::fs::write(&design, format!("{}# changed\n", sample())).unwrap();
    let limited = format!(
        "trap '' XFSZ; ulimit -f 8; exec '{PROGRAM}' templates '{}' --out '{}'",
        design.display(),
        out.display()
    );
    let output = Command::new("sh").arg("-c").arg(limited).output().unwrap();
    let words = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{words}");
    assert!(words.contains("cannot be written") && words.contains("all or not at all"), "{words}");
    assert_eq!(files(&out), before);
    assert_eq!(hidden(&out), 0);
}

/// A disk of its own for one run, as large as one set of sheets and no larger. Mounting needs a system that allows it:
/// root, or user namespaces. Where neither is there the test says so; with NOCKWRIGHT_MUST_MOUNT set it fails instead.
#[test]
fn on_a_full_disk_nothing_is_lost_and_the_fault_is_clear() {
    let folder = folder("small-disk");
    let disk = folder.join("disk");
    std::fs::create_dir(&disk).unwrap();
    std::fs::write(folder.join("first.toml"), sample()).unwrap();
    std::fs::write(folder.join("second.toml"), format!("{}# changed\n", sample())).unwrap();
    // One set of sheets fits on it, and not a second one beside it.
    let script = "set -e; mount -t tmpfs -o size=1000k tmpfs disk; echo mounted; \
        \"$0\" templates first.toml --out disk/out >/dev/null 2>&1; ( cd disk/out && cksum * ) >before; \
        set +e; \"$0\" templates second.toml --out disk/out 2>said >/dev/null; echo $? >code; \
        ( cd disk/out && cksum * ) >after; ls -A disk/out | grep -c '^\\.' >hidden; \
        \"$0\" class roster.csv first.toml --out disk/class 2>said-class >/dev/null; echo $? >code-class; ls -A disk/class >left 2>/dev/null; \
        \"$0\" recover disk/out/*.pdf >back.toml; exit 0";
    std::fs::write(folder.join("roster.csv"), "name\nAnna\nBen\nCleo\n").unwrap();
    let tries = [vec!["unshare", "--mount"], vec!["unshare", "--user", "--map-root-user", "--mount"]];
    let ran = tries.iter().any(|words| {
        let mut command = Command::new(words[0]);
        command.args(&words[1..]).args(["sh", "-c", script, PROGRAM]).current_dir(&folder);
        command.output().is_ok_and(|o| o.stdout.starts_with(b"mounted") && o.status.success())
    });
    if !ran {
        assert!(std::env::var_os("NOCKWRIGHT_MUST_MOUNT").is_none(), "no small disk could be mounted");
        eprintln!("SKIPPED: no small disk could be mounted, so a full one was not tried; run the tests as root");
        return;
    }
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    assert_eq!(read("code").trim(), "2", "{}", read("said"));
    assert!(read("said").contains("cannot be written") && read("said").contains("No space left"), "{}", read("said"));
    assert!(read("before").lines().count() >= 2);
    assert_eq!(read("before"), read("after"));
    assert_eq!(read("hidden").trim(), "0");
    assert_eq!(read("back.toml"), sample());
    assert_eq!(read("code-class").trim(), "2", "{}", read("said-class"));
    assert!(read("said-class").contains("No space left"), "{}", read("said-class"));
    assert_eq!(read("left"), "");
}
