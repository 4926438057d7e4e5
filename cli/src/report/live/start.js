// The controls: a bar that stays in sight with one part at a time, and a table of all parts.

// Boxes that are ticked stay ticked.
(function () {
  var kept = keeper('handover ' + (page.compute ? page.compute.file : document.title) + ' ');
  var ticks = kept.get('ticks') || {};
  document.querySelectorAll('input[data-keep]').forEach(function (box) {
    box.checked = ticks[box.dataset.keep] === true;
    box.addEventListener('change', function () { ticks[box.dataset.keep] = box.checked; kept.set('ticks', ticks); });
  });
}());

// A text that has not changed is left alone: the browser would set the page anew for it.
function write(node, words) { if (node.textContent !== words) { node.textContent = words; } }
function button(words, label, work) {
  var made = element('button', { type: 'button' }, words);
  if (label) { made.setAttribute('aria-label', label); made.title = label; }
  made.addEventListener('click', work);
  return made;
}
function choice(label, options, work) {
  var made = element('select', { 'aria-label': label });
  options.forEach(function (option) { made.appendChild(element('option', { value: option[0] }, option[1])); });
  made.addEventListener('change', function () { work(made.value); });
  return made;
}

// A field for one part's value: typed, stepped with the arrow keys or the buttons beside it.
function valueField(bench, nameOf, prefix) {
  var input = element('input', { type: 'text', autocomplete: 'off', spellcheck: 'false', 'class': 'value' });
  function take() {
    var name = nameOf(), one = bench.part(name), is = bench.now(name);
    if (one.driver || input.value === input.dataset.shown) { return; }
    if (one.kind === 'autoformer') {
      var db = Number(input.value.replace(',', '.').replace('−', '-').replace(/\s*dB$/, ''));
      if (isFinite(db) && input.value.trim() !== '' && db !== 0 && Math.abs(db) < 40) { bench.ratio(name, Number(Math.pow(10, -Math.abs(db) / 20).toPrecision(6))); return; }
    } else {
      var si = parsed(one.kind, input.value);
      if (si !== null) { if (Math.abs(si / is.value - 1) > 1e-9 || is.state) { bench.value(name, si); } else { fill(); } return; }
    }
    input.setAttribute('aria-invalid', 'true');
    bench.say('“' + input.value + '” is no value: write it as 4R7, 4.7 uF, 0.56 mH or 8.2.');
  }
  function fill() {
    var name = nameOf(), one = bench.part(name), is = bench.now(name);
    input.removeAttribute('aria-invalid');
    var words = one.driver ? (is.state ? 'disconnected' : is.inverted ? 'wires swapped' : 'as drawn')
      : one.kind === 'autoformer' ? (is.ratio ? signed(20 * Math.log10(is.ratio), 1) + ' dB' : '') : shown(one.kind, is.value);
    if (input.value !== words) { input.value = words; }
    input.disabled = !!one.driver || (one.kind === 'autoformer' && !is.ratio);
    input.dataset.shown = input.value;
    var label = prefix + (one.kind === 'autoformer' ? 'Tap of ' : 'Value of ') + name;
    if (input.getAttribute('aria-label') !== label) { input.setAttribute('aria-label', label); }
  }
  input.addEventListener('change', take);
  input.addEventListener('keydown', function (event) {
    if (event.key === 'Enter') { take(); }
    else if (event.key === 'Escape') { fill(); }
    else if (event.key === 'ArrowUp' || event.key === 'ArrowDown') { event.preventDefault(); bench.step(nameOf(), event.key === 'ArrowUp'); }
  });
  input.fill = fill;
  return input;
}
function states(one) {
  return one.driver ? [['', 'as drawn'], ['swap', 'wires swapped'], ['out', 'disconnected']]
    : one.kind === 'coupling' ? [['', 'as it is']] : [['', 'in place'], ['out', 'taken out'], ['short', 'bridged']];
}
function stateField(bench, name, label) {
  var one = bench.part(name);
  var made = choice(label, states(one), function (value) {
    if (!one.driver) { bench.state(name, value); return; }
    var swapped = value === 'swap' ? !bench.designed(one).inverted : bench.designed(one).inverted;
    bench.state(name, value === 'out' ? 'out' : '');
    bench.swap(name, swapped);
  });
  made.fill = function () {
    var is = bench.now(name);
    made.value = is.state || (one.driver && is.inverted !== bench.designed(one).inverted ? 'swap' : '');
  };
  return made;
}

// What a part gets, against what it stands.
function strain(bench, one, result) {
  var got = result.parts[one.at], share = one.share || 1, crest = one.crest || [0, 0];
  var peakV = Math.max(got.sine_v, crest[0] * got.rms_v), peakA = Math.max(got.sine_a, crest[1] * got.rms_a);
  var counts = one.kind === 'resistor' || one.driver ? got.power_w : one.kind === 'capacitor' ? peakV : peakA;
  var rating = one.rated !== null && one.rated !== undefined ? one.rated : one.buy;
  return {
    heat: watts(got.power_w), peak: one.kind === 'capacitor' ? peakV.toFixed(1) + ' V' : one.kind === 'inductor' || one.kind === 'autoformer' ? peakA.toFixed(2) + ' A' : '',
    share: rating ? share * counts / rating : null
  };
}

function controls(data) {
  var parts = data.parts.filter(function (one) { return one.at !== null; });
  if (!parts.length) { return; }
  var rows = {}, bar = {}, status = element('p', { 'class': 'said', role: 'status' }, '');
  var bench = workbench(data, show);
  bench.say = function (words) { status.textContent = words; };
  var chosen = bench.kept.get('chosen');
  if (!parts.some(function (one) { return one.name === chosen; })) { chosen = parts[0].name; }
  window.handoverBench = bench;

  function choose(name) { chosen = name; bench.kept.set('chosen', name); bar.part.value = name; barState(); fillBar(); }
  function barState() {
    var field = stateField(bench, chosen, 'State of ' + chosen);
    bar.state.replaceWith(field);
    bar.state = field;
  }
  function fillBar() {
    bar.value.fill(); bar.state.fill();
    var one = bench.part(chosen), stepped = !!data.stock[one.kind];
    bar.down.disabled = !stepped || bench.next(one, false) === null; bar.up.disabled = !stepped || bench.next(one, true) === null;
    bar.undo.disabled = !bench.canUndo(); bar.redo.disabled = !bench.canRedo(); bar.reset.disabled = !bench.changed;
  }
  function save() {
    var text = bench.file(), name = data.file.replace(/(\.[^.]*)?$/, '-changed$1');
    var link = element('a', { href: URL.createObjectURL(new Blob([text], { type: 'text/plain' })), download: name });
    document.body.appendChild(link); link.click(); link.remove();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
    bench.say(name + ' is saved. Put it beside ' + data.file + ', where its tables are; then: handover report ' + name);
  }

  // The section with all parts.
  var section = document.getElementById('change'), place = section.querySelector('.content');
  section.hidden = false;
  var links = document.querySelector('nav'), drawing = links && links.querySelector('[href="#drawing"]');
  if (drawing) { links.insertBefore(element('a', { href: '#change' }, 'Change a value'), drawing.nextSibling); }
  place.appendChild(element('p', {}, 'Change any part here or in the bar below: curves, load, heat and figures follow at once. A thin grey line stays where the design is. '
    + 'Steps are the values of the stock, with the loss that belongs to each. Ratings that are shown are those of the design’s part.'));
  data.pads.forEach(function (pad) {
    var group = element('div', { 'class': 'steps', role: 'group', 'aria-label': 'Level of ' + pad.driver }, [element('span', {}, pad.driver + ' (' + pad.parts.join(', ') + ')')]);
    var all = pad.steps.concat([{ level_db: 0, set: null }]).sort(function (a, b) { return a.level_db - b.level_db; });
    all.forEach(function (step) {
      var words = step.set ? signed(step.level_db, 0) + ' dB' : 'as designed';
      group.appendChild(button(words, pad.driver + ' ' + words, function () { bench.pad(pad, step.set ? step : null); }));
    });
    if (pad.steps.length) { place.appendChild(group); }
  });
  var head = ['Part', 'Value', 'State', 'Heat', 'Share of rating', 'Peak', 'Price'];
  var priced = Object.keys(data.stock).some(function (kind) { return data.stock[kind].pieces.some(function (p) { return p[2] !== null; }); });
  if (!priced) { head.pop(); }
  var body = element('tbody');
  parts.forEach(function (one) {
    var row = rows[one.name] = { value: valueField(bench, function () { return one.name; }, ''), state: stateField(bench, one.name, 'State of ' + one.name + ' in the table') };
    row.down = button('−', 'Smaller ' + one.name, function () { bench.step(one.name, false); });
    row.up = button('+', 'Larger ' + one.name, function () { bench.step(one.name, true); });
    row.was = element('small', {}, ''); row.heat = element('td', { 'class': 'number' }); row.share = element('td', { 'class': 'number' });
    row.peak = element('td', { 'class': 'number minor' }); row.price = element('td', { 'class': 'number' });
    var stepped = !one.driver && data.stock[one.kind];
    row.row = element('tr', {}, [
      element('th', { scope: 'row' }, one.name),
      element('td', { 'class': 'stepper' }, [element('span', { 'class': 'field' }, stepped ? [row.down, row.value, row.up] : one.driver ? [] : [row.value]), row.was]),
      element('td', {}, [row.state]), row.heat, row.share, row.peak
    ].concat(priced ? [row.price] : []));
    body.appendChild(row.row);
  });
  var table = element('table', { 'class': 'change' }, [
    element('caption', {}, [element('span', {}, 'All parts')]),
    element('thead', {}, [element('tr', {}, head.map(function (words, k) { return element('th', { scope: 'col', 'class': k > 2 ? words === 'Peak' ? 'number minor' : 'number' : '' }, words); }))]), body
  ]);
  place.appendChild(element('div', { 'class': 'scroll', tabindex: '0', role: 'group', 'aria-label': 'All parts to change' }, [table]));
  var total = element('p', { 'class': 'total' });
  if (priced) { place.appendChild(total); }
  var over = overlays(bench, bench.say), pick = element('input', { type: 'file', id: 'over-file', 'class': 'hidden-file', multiple: '' });
  pick.addEventListener('change', function () { [].forEach.call(pick.files, function (file) { over.take(file, null); }); pick.value = ''; });
  place.appendChild(element('p', { 'class': 'lay' }, [
    element('label', { 'for': 'over-file', 'class': 'button' }, 'Lay a measurement over'), pick, ' ', button('Take it off', '', over.clear),
    element('span', { 'class': 'quiet' }, ' A table of impedance or level (or another design’s page) may also be dropped on a picture.')
  ]));

  // The bar.
  bar.part = choice('Part', parts.map(function (one) { return [one.name, one.name]; }), choose);
  bar.value = valueField(bench, function () { return chosen; }, 'In the bar: ');
  bar.down = button('−', 'One step down', function () { bench.step(chosen, false); });
  bar.up = button('+', 'One step up', function () { bench.step(chosen, true); });
  bar.state = stateField(bench, chosen, 'State of ' + chosen);
  bar.undo = button('Undo', '', bench.undo); bar.redo = button('Redo', '', bench.redo);
  bar.reset = button('Reset', 'Reset: back to the design', bench.reset);
  bar.save = button('Save', 'Save as design file', save);
  bar.figures = element('p', { 'class': 'now' });
  bar.fold = button('▾', 'Fold the bar', function () { fold(!bar.whole.classList.contains('folded')); });
  var tools = [element('span', { 'class': 'one' }, [bar.part, bar.down, bar.value, bar.up, bar.state]), element('span', { 'class': 'all' }, [bar.undo, bar.redo, bar.reset].concat(data.save ? [bar.save] : []))];
  bar.whole = element('aside', { 'class': 'bench', 'aria-label': 'Bench bar' }, [element('div', { 'class': 'tools' }, tools), bar.figures, status, bar.fold]);
  document.body.appendChild(bar.whole);
  document.documentElement.classList.add('has-bench');
  function fold(folded) {
    bar.whole.classList.toggle('folded', folded);
    bar.fold.textContent = folded ? '▴ Change a value' : '▾';
    bar.fold.setAttribute('aria-label', folded ? 'Change a value' : 'Fold the bar'); bar.fold.setAttribute('aria-expanded', String(!folded));
    bench.kept.set('folded', folded);
  }
  fold(bench.kept.get('folded') === true);
  bar.part.value = chosen;
  document.addEventListener('keydown', function (event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || /^(INPUT|TEXTAREA)$/.test(event.target.tagName)) { return; }
    var key = event.key.toLowerCase();
    if (key === 'z' && !event.shiftKey) { bench.undo(); event.preventDefault(); }
    if (key === 'y' || (key === 'z' && event.shiftKey)) { bench.redo(); event.preventDefault(); }
  });

  // Names in the drawing choose their part.
  var labels = {};
  document.querySelectorAll('#drawing .schematic .name').forEach(function (text) {
    var one = bench.part(text.textContent), value = text.nextElementSibling;
    if (!one) { return; }
    labels[one.name] = { name: text, value: value && value.classList.contains('value') && !one.driver ? value : null };
    if (labels[one.name].value) { labels[one.name].was = value.textContent; }
    text.style.cursor = 'pointer';
    text.addEventListener('click', function () { choose(one.name); fold(false); });
  });

  // Everything that shows a figure.
  var cells = [].slice.call(document.querySelectorAll('[data-figure] dd, [data-match], [data-phase]'));
  cells.forEach(function (cell) { cell.asDesigned = cell.innerHTML; });
  var verdict = document.getElementById('verdict');
  function cell(selector, words, was) {
    var found = document.querySelector(selector);
    if (!found) { return; }
    if (found.live !== words) {
      found.live = words; found.textContent = words;
      found.appendChild(element('small', {}, 'design ' + was));
    }
  }
  function both(result, design) {
    var a = result.figures, b = design.figures, cells = [];
    if (a) { cells.push(['level', a.level_db, b.level_db, 1, ' dB'], ['flat', a.rms_db, b.rms_db, 2, ' dB'], ['most', a.max_db, b.max_db, 2, ' dB']); }
    if (result.least && design.least) { cells.push(['load', result.least.ohm, design.least.ohm, 2, ' Ω'], ['epdr', result.heats.value, design.heats.value, 2, ' Ω']); }
    return cells;
  }
  function show(bench, result) {
    var design = bench.design;
    if (!bench.changed) { cells.forEach(function (one) { if (one.live) { one.innerHTML = one.asDesigned; one.live = ''; } }); }
    var figures = both(result, design);
    if (bench.changed) {
      figures.forEach(function (one) { cell('[data-figure="' + one[0] + '"] dd', one[1].toFixed(one[3]) + one[4], one[2].toFixed(one[3]) + one[4]); });
      if (result.figures) {
        result.figures.match_db.forEach(function (db, way) { cell('[data-match="' + CSS.escape(data.ways[way]) + '"]', db.toFixed(2) + ' dB', design.figures.match_db[way].toFixed(2)); });
        result.figures.phase_match_deg.forEach(function (deg, k) { cell('[data-phase="' + k + '"]', deg.toFixed(0) + '°', design.figures.phase_match_deg[k].toFixed(0) + '°'); });
      }
    }
    var words = { level: '', flat: 'rms ', most: 'most ', load: 'least ', epdr: 'EPDR ' };
    figures.forEach(function (one, k) {
      var worse = one[0] === 'flat' || one[0] === 'most' ? one[1] - one[2] : one[2] - one[1];
      var mark = !bench.changed || one[1].toFixed(one[3]) === one[2].toFixed(one[3]) ? '' : one[1] > one[2] ? ' ▲' : ' ▼';
      if (!bar.figures.children[k]) { bar.figures.appendChild(element('span')); bar.figures.appendChild(document.createTextNode(' ')); }
      bar.figures.children[k].className = bench.changed && mark ? worse > 0 ? 'worse' : 'better' : '';
      write(bar.figures.children[k], words[one[0]] + one[1].toFixed(one[3]) + one[4] + mark);
    });
    var sum = 0, unknown = 0;
    parts.forEach(function (one) {
      var row = rows[one.name], is = bench.now(one.name), got = strain(bench, one, result);
      row.value.fill(); row.state.fill();
      row.row.classList.toggle('changed', is.changed);
      write(row.was, is.changed ? 'design ' + (one.driver ? 'as drawn' : one.kind === 'autoformer' ? signed(20 * Math.log10(bench.designed(one).ratio), 1) + ' dB' : shown(one.kind, bench.designed(one).value)) : '');
      write(row.heat, one.kind === 'coupling' ? '' : is.state ? '–' : got.heat);
      write(row.share, is.state || got.share === null ? '–' : (100 * got.share).toFixed(0) + ' %');
      row.share.classList.toggle('too-much', !is.state && got.share > 1);
      write(row.peak, is.state ? '–' : got.peak);
      var stepped = !one.driver && data.stock[one.kind];
      if (stepped) { row.down.disabled = bench.next(one, false) === null; row.up.disabled = bench.next(one, true) === null; }
      if (priced && stepped) {
        var cost = bench.price(one);
        write(row.price, cost === null ? '–' : cost.toFixed(2));
        if (cost === null) { unknown += 1; } else { sum += cost; }
      }
      var label = labels[one.name];
      if (label) {
        label.name.classList.toggle('changed', is.changed);
        if (label.value) { write(label.value, !is.changed ? label.was : is.state === 'out' ? 'out' : is.state === 'short' ? 'bridged' : one.kind === 'autoformer' ? label.was : shown(one.kind, is.value)); }
      }
    });
    if (priced) { write(total, 'Parts of one loudspeaker: ' + sum.toFixed(2) + (unknown ? ', without ' + unknown + ' parts whose price is not known' : '')); }
    var list = Object.keys(bench.changes());
    verdict.classList.toggle('stale', bench.changed);
    var notice = document.getElementById('changed-notice');
    if (!notice) { notice = element('p', { id: 'changed-notice' }); verdict.parentNode.insertBefore(notice, verdict.nextSibling); }
    notice.hidden = !bench.changed;
    write(notice, bench.changed ? 'Changed on this page: ' + list.join(', ') + '. Cautions, bench leaf, parts and all tables below are still those of the design; save the file and run report on it to have them for these values.' : '');
    fillBar();
  }
  barState();
  bench.begin();
}

if (page.compute) { controls(page.compute); }
