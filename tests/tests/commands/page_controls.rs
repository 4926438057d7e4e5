//! The page's controls, and measurements laid over its curves. Needs Chromium.

use netlist::project::{Stock, StockKind};
use solver::stock::loss_law;
use tests::browser::answer;
use tests::command::handover;
use tests::made::REPORT;

/// Keys, buttons and typing on the page itself; what is kept, and a browser that keeps nothing.
#[test]
fn values_are_stepped_typed_undone_and_kept() {
    let page = REPORT.text("network.html");
    let script = "var B = handoverBench, log = {};\
        function field(name) { return [].slice.call(document.querySelectorAll('table.change input')).filter(function (i) {\
            return i.getAttribute('aria-label') === 'Value of ' + name; })[0]; }\
        function key(on, name) { on.dispatchEvent(new KeyboardEvent('keydown', { key: name, bubbles: true, cancelable: true })); B.update(); }\
        function type(on, text) { on.value = text; on.dispatchEvent(new Event('change', { bubbles: true })); B.update(); }\
        function press(label) { var b = document.querySelector('button[aria-label=\"' + label + '\"]'); b.click(); B.update(); }\
        key(field('R2'), 'ArrowUp'); log.up = field('R2').value;\
        key(field('R2'), 'ArrowDown'); log.down = field('R2').value; log.back = Object.keys(B.changes()).length;\
        type(field('R2'), '4R7'); log.letter = B.now('R2').value; type(field('C1'), '39 uF'); log.micro = B.now('C1').value;\
        type(field('L1'), '3,3'); log.plain = B.now('L1').value; log.loss = B.now('L1').loss;\
        type(field('C1'), '4R7'); log.refused = B.now('C1').value; log.says = document.querySelector('.said').textContent;\
        window.dispatchEvent(new Event('beforeprint'));\
        log.marked = document.querySelectorAll('table.change tr.changed').length;\
        log.ghosts = document.querySelectorAll('#response .asdrawn').length;\
        log.figure = document.querySelector('[data-figure=level] small').textContent;\
        B.undo(); B.update(); log.undone = Object.keys(B.changes()).join(); B.redo(); B.update();\
        press('mid −1 dB'); log.pad = [B.now('R2').value, B.now('R3').value];\
        log.softer = B.result.sum[350] - B.design.sum[350];\
        document.querySelector('input[data-keep]').click();\
        window.dispatchEvent(new Event('pagehide'));\
        try { log.kept = JSON.stringify(Object.entries(localStorage)); } catch (refused) { log.kept = null; }\
        B.reset(); B.update(); log.reset = Object.keys(B.changes()).length; window.dispatchEvent(new Event('beforeprint'));\
        log.gone = document.querySelectorAll('.asdrawn').length;\
        return log;";
    let refusing = page.replace(
        "<script type=\"application/json\"",
        "<script>Object.defineProperty(window, 'localStorage', { get: function () { throw new Error('refused'); } });</script>\
         <script type=\"application/json\"",
    );
    for (page, width) in [(page, 1280), (refusing.as_str(), 390)] {
        let log = answer(page, width, script);
        assert_eq!(log["up"], "10 Ω");
        assert_eq!(log["down"], "9.1 Ω");
        assert_eq!(log["back"], 0, "back at the design nothing is changed");
        for (name, right) in [
            ("letter", 4.7),
            ("micro", 39e-6),
            ("plain", 3.3e-3),
            ("refused", 39e-6),
        ] {
            assert!(
                (log[name].as_f64().unwrap() / right - 1.0).abs() < 1e-9,
                "{name}: {log}"
            );
        }
        // More wire for more inductance, by the wire that the stock names.
        let loss = log["loss"].as_f64().unwrap();
        assert!(loss > 0.62 && loss < 0.75, "{loss}");
        assert!(log["says"].as_str().unwrap().contains("4R7"), "{log}");
        assert_eq!(log["marked"], 3);
        assert!(log["ghosts"].as_u64().unwrap() > 0);
        assert!(
            log["figure"].as_str().unwrap().starts_with("design 9"),
            "{log}"
        );
        assert_eq!(log["undone"], "R2,C1");
        assert_ne!(log["pad"][0], 4.7);
        // What is changed and ticked outlives the visit where the browser keeps anything.
        match log["kept"].as_str() {
            Some(kept) => {
                assert_eq!(width, 1280, "{log}");
                assert!(
                    kept.contains("R3") && kept.contains("got resistor 1 Ω"),
                    "{kept}"
                );
            }
            None => assert_eq!(width, 390, "{log}"),
        }
        assert_eq!(log["reset"], 0);
        assert_eq!(log["gone"], 0);
    }
}

/// A measured table laid over the response, as the program reads such tables.
#[test]
fn a_measured_table_is_laid_over_with_its_difference() {
    let page = REPORT.text("network.html");
    // Files are read beside the script; what it says of one comes later.
    let script = "var rows = ['Frequency [Hz]; Level [dB]'];\
        Array.from(handoverBench.result.sum).forEach(function (db, i) { if (i % 5 === 0) {\
            rows.push((20 * Math.pow(1000, i / 599)).toFixed(3).replace('.', ',') + ';' + (db + 1.5).toFixed(3).replace('.', ',')); } });\
        var drop = function (text, on) { var data = new DataTransfer(); data.items.add(new File([text], 'room.txt'));\
            document.querySelector(on).dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: data })); };\
        drop(rows.join('\\n'), '#response');\
        var said = function () { return document.querySelector('.said').textContent; };\
        var told = function (of) { return new Promise(function (done) { (function look(n) {\
            if (said().indexOf(of) === 0 && said() !== told.before || n > 400) { told.before = said(); done(said()); }\
            else { setTimeout(function () { look(n + 1); }, 50); } }(0)); }); };\
        var found = {}, B = handoverBench, text;\
        return told('room.txt').then(function (words) {\
            found.says = words; found.laid = document.querySelectorAll('#response .overlay').length;\
            found.near = document.querySelectorAll('#sum .overlay').length;\
            drop('100 90\\n90 91\\n', '#response'); return told('room.txt');\
        }).then(function (words) {\
            found.wrong = words; B.value('R2', 10); B.update(); found.softer = B.result.sum[350] - B.design.sum[350];\
            text = B.file(); B.reset(); B.update(); drop(text, '#load'); return told('room.txt');\
        }).then(function (words) {\
            found.design = words; found.both = document.querySelectorAll('#load .overlay').length; return found;\
        });";
    let found = answer(page, 1280, script);
    let says = found["says"].as_str().unwrap();
    assert!(
        says.contains("room.txt") && says.contains("+1.5 dB in the mean"),
        "{says}"
    );
    assert_eq!(found["laid"], 2, "in both layouts");
    assert_eq!(found["near"], 2);
    assert!(
        found["wrong"].as_str().unwrap().contains("must rise"),
        "{found}"
    );
}

/// A network without crossovers has no figures of merit; its parts step through the usual series all the same, a coil
/// with the resistance that the usual wire has at its value, and what is known of it follows.
#[test]
fn a_network_without_crossovers_can_be_changed_too() {
    let folder = tempfile::tempdir().unwrap();
    let design = folder.path().join("bare.toml");
    let text = "[drivers.low]\nmodelled = { re = \"6 ohm\", fs = \"33 Hz\", qms = 5, qes = 0.4, vas = \"100 L\", sd = \"500 cm2\" }\n\
        [parts]\nL1 = { inductor = \"2.2 mH\", between = [\"in\", \"a\"], dcr = \"0.4 ohm\" }\n\
        LOW = { driver = \"low\", between = [\"a\", \"gnd\"] }\n";
    std::fs::write(&design, text).unwrap();
    assert!(handover(&["report", design.to_str().unwrap()]).status < 2);
    let page = std::fs::read_to_string(folder.path().join("bare.html")).unwrap();
    let script = "var B = handoverBench; B.step('L1', true); B.update();\
        return { value: B.now('L1').value, loss: B.now('L1').loss, figures: B.result.figures, least: B.result.least.ohm, was: B.design.least.ohm };";
    let found = answer(&page, 1280, script);
    assert!(found["value"].as_f64().unwrap() > 2.2e-3, "{found}");
    assert!(found["figures"].is_null(), "{found}");
    let law = loss_law(&Stock::default(), StockKind::Inductor);
    let usual_ohm = law.loss(found["value"].as_f64().unwrap(), f64::NAN);
    assert!(
        (found["loss"].as_f64().unwrap() / usual_ohm - 1.0).abs() < 1e-3,
        "{found} {usual_ohm}"
    );
    assert!(
        found["least"].as_f64().unwrap() > found["was"].as_f64().unwrap(),
        "{found}"
    );
}
