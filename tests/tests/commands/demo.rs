//! `handover demo`: the demo project as files.

use tests::command::handover;

#[test]
fn every_file_is_written_and_each_project_can_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("speakers").join("screen");
    let ran = handover(&["demo", new.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let mut names: Vec<String> = std::fs::read_dir(&new)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    // No temporary file is left over.
    assert_eq!(
        names,
        [
            "brief.toml",
            "data-sheet.toml",
            "high-b-impedance.txt",
            "high-b-response.txt",
            "high-impedance.txt",
            "high-response.txt",
            "low-impedance.txt",
            "low-response.txt",
            "mid-impedance.txt",
            "mid-response.txt",
            "network.toml",
            "two-way.toml",
        ]
    );
    for name in names.iter().filter(|name| name.ends_with(".toml")) {
        let loaded = netlist::project::load(&new.join(name)).unwrap();
        let note = loaded.project.note.unwrap_or_default();
        assert!(note.contains("Invented data"), "{name} must say so");
    }
    let network = new.join("network.toml");
    assert!(ran.err.contains("invented"));
    let next = format!("handover sweep {}", network.display());
    assert!(ran.err.contains(&next), "{}", ran.err);
    // What it says that it writes is what is there, and what comes of the command that it names.
    for name in names.iter().filter(|name| name.ends_with(".toml")) {
        assert!(ran.err.contains(name.as_str()), "{}", ran.err);
    }
    assert!(ran.err.contains("8 measured tables"), "{}", ran.err);
    let writes = new.join("brief-design.toml");
    assert!(
        ran.err.contains(&format!("writes {}", writes.display())),
        "{}",
        ran.err
    );

    // What was written is what is inside the program.
    let written = handover(&["sweep", network.to_str().unwrap(), "--json"]);
    let inside = handover(&["sweep", "--demo", "--json"]);
    assert_eq!(written.out, inside.out);
}

#[test]
fn a_file_in_place_of_the_folder_is_told_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("notes");
    std::fs::write(&file, "kept").unwrap();
    let ran = handover(&["demo", file.to_str().unwrap(), "--force"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("is a file, not a folder"), "{}", ran.err);
    assert!(ran.err.contains("help: name a folder"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "kept");
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_nowhere_counts_as_a_file_that_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("two-way.toml");
    std::os::unix::fs::symlink(folder.path().join("gone"), &link).unwrap();
    let ran = handover(&["demo", folder.path().to_str().unwrap()]);
    assert_eq!(ran.status, 2);
    assert!(
        ran.err.contains("two-way.toml is there already"),
        "{}",
        ran.err
    );
    let left = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, 1, "nothing else was written");
}
