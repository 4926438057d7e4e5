//! Files that commands write: a design in another folder can be read there, links and devices stay what they
//! are, and `-` is the program's output.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use netlist::project::load;
use tests::command::{Outcome, handover};
use tests::made::SMALL_NETWORK;
use tests::pad::DemoFiles;

/// `snap` on the demo's network, which is quick when it looks next door only.
fn snapped(file: &str, to: &Path, more: &[&str]) -> Outcome {
    let to = to.to_str().expect("a name in UTF-8");
    let mut line = vec!["snap", file, "-o", to, "--window", "1"];
    line.extend(more);
    handover(&line)
}

fn levels(file: &Path) -> String {
    let name = file.to_str().expect("a name in UTF-8");
    let swept = handover(&["sweep", name, "--at", "50,500,5000", "--json"]);
    assert_eq!(swept.status, 0, "{}", swept.err);
    swept.out
}

#[test]
fn a_design_in_another_folder_can_be_read_and_keeps_comments_and_layout() {
    let demo = DemoFiles::new();
    let text = fs::read_to_string(demo.path("network.toml")).unwrap();
    let tables = demo.path("tables");
    fs::create_dir(&tables).unwrap();
    fs::rename(demo.path("mid-response.txt"), tables.join("mid.txt")).unwrap();
    let absolute = demo.name("low-response.txt");
    let text = text
        .replace("\"mid-response.txt\"", "'tables/mid.txt'    ")
        .replace("\"low-response.txt\"", &format!("\"{absolute}\""))
        .replace(
            "[stock]",
            "[stock]  # what I can buy\ncatalogue = \"list.csv\" # mine",
        );
    fs::write(demo.path("network.toml"), &text).unwrap();
    let list = "kind,value\nresistor,1 ohm\nresistor,4.7 ohm\n";
    fs::write(demo.path("list.csv"), list).unwrap();
    let file = demo.name("network.toml");

    let new = demo.path("some/new");
    fs::create_dir_all(&new).unwrap();
    let there = new.join("there.toml");
    let outcome = snapped(&file, &there, &[]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let written = fs::read_to_string(&there).unwrap();
    let kept = |text: &str| {
        let (head, _) = text.split_once("[parts]").unwrap();
        head.to_owned()
    };
    let expected = kept(&text)
        .replace("'tables/mid.txt'", "\"../../tables/mid.txt\"")
        .replace("\"list.csv\"", "\"../../list.csv\"");
    let named = [
        "low-impedance",
        "mid-impedance",
        "high-impedance",
        "high-response",
    ];
    let expected = named.iter().fold(expected, |text, name| {
        text.replace(&format!("\"{name}.txt\""), &format!("\"../../{name}.txt\""))
    });
    assert_eq!(kept(&written), expected);
    // The same network here and there sounds the same.
    let here = demo.path("here.toml");
    assert_eq!(snapped(&file, &here, &[]).status, 0);
    assert_eq!(kept(&fs::read_to_string(&here).unwrap()), kept(&text));
    assert_eq!(levels(&there), levels(&here));
    // And back again.
    let back = demo.path("back.toml");
    let there = there.to_str().unwrap();
    assert_eq!(snapped(there, &back, &[]).status, 0);
    let again = kept(&fs::read_to_string(&back).unwrap());
    assert_eq!(again, kept(&text).replace('\'', "\""));
}

#[test]
fn a_design_in_json_can_be_read_in_another_folder_too() {
    let demo = DemoFiles::new();
    let tables = "\"impedance\": \"mid-impedance.txt\",   \"response\": \"mid-response.txt\"";
    let driver = |name: &str| {
        format!(
            "\"{name}\": {{ \"measured\": {{ {} }} }}",
            tables.replace("mid-", &format!("{name}-"))
        )
    };
    let text = format!(
        "{{ \"drivers\": {{ {}, {} }},\n \"crossovers\": [{{ \"between\": [\"low\", \"mid\"], \"frequency\": 650, \"alignment\": \"LR2\" }}],\n \
         \"stock\": {{ \"capacitors\": {{ \"series\": \"E6\", \"from\": \"1 uF\", \"to\": \"100 uF\" }} }},\n \
         \"parts\": {{ \"C1\": {{ \"capacitor\": \"13 uF\", \"between\": [\"in\", \"m1\"] }},\n \
         \"LOW\": {{ \"driver\": \"low\", \"between\": [\"in\", \"gnd\"] }}, \"MID\": {{ \"driver\": \"mid\", \"between\": [\"m1\", \"gnd\"] }} }} }}\n",
        driver("low"),
        driver("mid")
    );
    fs::write(demo.path("p.json"), text).unwrap();
    fs::create_dir(demo.path("new")).unwrap();
    let there = demo.path("new/q.json");
    let outcome = snapped(&demo.name("p.json"), &there, &[]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let written = fs::read_to_string(&there).unwrap();
    assert!(
        written.contains("\"../mid-impedance.txt\",   \"response\""),
        "{written}"
    );
    load(&there).unwrap_or_else(|problems| panic!("{problems}"));

    // A name of the other form would be read wrongly.
    for (file, name) in [("p.json", "q.toml"), ("network.toml", "q.json")] {
        let outcome = snapped(&demo.name(file), &demo.path(name), &[]);
        assert_eq!(outcome.status, 2);
        assert!(outcome.err.contains("would be read as"), "{}", outcome.err);
        assert!(!demo.path(name).exists());
    }
}

#[test]
fn a_dash_is_the_output_and_nothing_else_goes_there() {
    let demo = DemoFiles::new();
    let before = fs::read_dir(demo.path("")).unwrap().count();
    let outcome = snapped(&demo.name("network.toml"), Path::new("-"), &[]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(!outcome.err.contains("written to"), "{}", outcome.err);
    fs::write(demo.path("kept.toml"), &outcome.out).unwrap();
    let names = |text: &str| text.matches("-impedance.txt\"").count();
    assert_eq!(names(&outcome.out), 3, "{}", outcome.out);
    assert!(outcome.out.contains("[parts]"));
    assert_eq!(fs::read_dir(demo.path("")).unwrap().count(), before + 1);

    for line in [
        &["snap", "--demo", "-o", "-", "--json"][..],
        &["design", "--demo", "-o", "-", "--json"],
    ] {
        let outcome = handover(line);
        assert_eq!((outcome.status, outcome.out.as_str()), (2, ""));
        assert!(outcome.err.contains("the same output"), "{}", outcome.err);
    }
    fs::write(demo.path("small.toml"), SMALL_NETWORK).unwrap();
    let page = handover(&["report", &demo.name("small.toml"), "-o", "-"]);
    assert_eq!(page.status, 0, "{}", page.err);
    assert!(page.out.starts_with("<!DOCTYPE html>"));
    assert!(page.out.trim_end().ends_with("</html>"));
    assert!(!Path::new("-").exists());
}

/// As a process, so that names are relative to a folder of the test's own.
#[test]
fn a_name_without_a_folder_is_of_this_folder() {
    let demo = DemoFiles::new();
    fs::create_dir(demo.path("new")).unwrap();
    let run = |folder: PathBuf, args: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_handover-under-test"))
            .args(args)
            .current_dir(folder)
            .output()
            .expect("a process");
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(0), "{err}");
        (String::from_utf8(output.stdout).unwrap(), err)
    };
    let snap = ["snap", "../network.toml", "--window", "1", "-o"];
    let (_, err) = run(demo.path("new"), &[&snap[..], &["there.toml"]].concat());
    assert!(err.contains("written to there.toml"), "{err}");
    load(&demo.path("new/there.toml")).unwrap_or_else(|problems| panic!("{problems}"));
    let (out, _) = run(demo.path("new"), &[&snap[..], &["-"]].concat());
    assert_eq!(
        out,
        fs::read_to_string(demo.path("new/there.toml")).unwrap()
    );
}

#[cfg(unix)]
#[test]
fn what_a_link_leads_to_is_written_and_the_link_stays() {
    let demo = DemoFiles::new();
    fs::write(demo.path("small.toml"), SMALL_NETWORK).unwrap();
    let page = |link: &str, more: &[&str]| {
        let (file, link) = (demo.name("small.toml"), demo.name(link));
        let mut line = vec!["report", &file, "-o", &link];
        line.extend(more);
        handover(&line)
    };
    let link = |name: &str, to: &str| std::os::unix::fs::symlink(to, demo.path(name)).unwrap();
    fs::create_dir(demo.path("pages")).unwrap();
    fs::write(demo.path("pages/old.html"), "old").unwrap();
    link("page.html", "pages/old.html");
    link("new.html", "pages/not-yet.html");
    link("lost.html", "nowhere/page.html");
    link("round.html", "round.html");
    for name in ["page.html", "new.html"] {
        let refused = page(name, &[]);
        assert_eq!(refused.status, 2);
        assert!(refused.err.contains("is there already"), "{}", refused.err);
    }
    assert_eq!(
        fs::read_to_string(demo.path("pages/old.html")).unwrap(),
        "old"
    );
    for (name, to) in [("page.html", "old.html"), ("new.html", "not-yet.html")] {
        let written = page(name, &["--force"]);
        assert_eq!(written.status, 0, "{}", written.err);
        assert!(demo.path(name).symlink_metadata().unwrap().is_symlink());
        let text = fs::read_to_string(demo.path("pages").join(to)).unwrap();
        assert!(text.starts_with("<!DOCTYPE html>"));
    }
    for name in ["lost.html", "round.html"] {
        let refused = page(name, &["--force"]);
        assert_eq!(refused.status, 2);
        assert!(refused.err.contains("cannot be written"), "{}", refused.err);
        assert!(demo.path(name).symlink_metadata().unwrap().is_symlink());
    }
}

#[cfg(unix)]
#[test]
fn devices_and_pipes_are_written_through_and_stay() {
    use std::os::unix::fs::FileTypeExt;
    let null = Path::new("/dev/null");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("small.toml");
    fs::write(&file, SMALL_NETWORK).unwrap();
    let file = file.to_str().unwrap();
    for more in [&[][..], &["--force"]] {
        let mut line = vec!["report", file, "-o", "/dev/null"];
        line.extend(more);
        let outcome = handover(&line);
        assert_eq!(outcome.status, 0, "{}", outcome.err);
        assert!(null.metadata().unwrap().file_type().is_char_device());
    }
    let pipe = folder.path().join("pipe");
    let made = Command::new("mkfifo")
        .arg(&pipe)
        .stdin(Stdio::null())
        .status();
    assert!(made.unwrap().success());
    let reader = {
        let pipe = pipe.clone();
        std::thread::spawn(move || fs::read_to_string(pipe).unwrap())
    };
    let outcome = handover(&["report", file, "-o", pipe.to_str().unwrap()]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    assert!(reader.join().unwrap().trim_end().ends_with("</html>"));
    assert!(pipe.metadata().unwrap().file_type().is_fifo());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}
