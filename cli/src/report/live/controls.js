// The controls: fields and buttons, the table of all parts, the bar with one part at a time, and what shows figures.
// Each part of the page gives a function that shows a result.

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
    bench.wires(name, value === 'out' ? 'out' : '', bench.designed(one).inverted !== (value === 'swap'));
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


function tapWords(ratio) { return ratio ? signed(20 * Math.log10(ratio), 1) + ' dB' : ''; }
function designWords(bench, one) {
  var was = bench.designed(one);
  return 'design ' + (one.driver ? 'as drawn' : one.kind === 'autoformer' ? tapWords(was.ratio) : shown(one.kind, was.value));
}
function isStepped(bench, one) { return !one.driver && !!bench.data.stock[one.kind]; }

// Steps of each pad by its level.
function padSteps(bench, place) {
  bench.data.pads.forEach(function (pad) {
    if (!pad.steps.length) { return; }
    var group = element('div', { 'class': 'steps', role: 'group', 'aria-label': 'Level of ' + pad.driver }, [element('span', {}, pad.driver + ' (' + pad.parts.join(', ') + ')')]);
    var all = pad.steps.concat([{ level_db: 0, set: null }]).sort(function (a, b) { return a.level_db - b.level_db; });
    all.forEach(function (step) {
      var words = step.set ? signed(step.level_db, 0) + ' dB' : 'as designed';
      group.appendChild(button(words, pad.driver + ' ' + words, function () { bench.pad(pad, step.set ? step : null); }));
    });
    place.appendChild(group);
  });
}

// A row of the table of all parts.
function partRow(bench, one, priced) {
  var name = one.name, stepped = isStepped(bench, one);
  var value = valueField(bench, function () { return name; }, ''), state = stateField(bench, name, 'State of ' + name + ' in the table');
  var down = button('−', 'Smaller ' + name, function () { bench.step(name, false); });
  var up = button('+', 'Larger ' + name, function () { bench.step(name, true); });
  var was = element('small', {}, ''), heat = element('td', { 'class': 'number' }), share = element('td', { 'class': 'number' });
  var peak = element('td', { 'class': 'number minor' }), price = element('td', { 'class': 'number' });
  var row = element('tr', {}, [
    element('th', { scope: 'row' }, name),
    element('td', { 'class': 'stepper' }, [element('span', { 'class': 'field' }, stepped ? [down, value, up] : one.driver ? [] : [value]), was]),
    element('td', {}, [state]), heat, share, peak
  ].concat(priced ? [price] : []));
  row.show = function (result) {
    var is = bench.now(name), got = strain(bench, one, result);
    value.fill(); state.fill();
    row.classList.toggle('changed', is.changed);
    write(was, is.changed ? designWords(bench, one) : '');
    write(heat, one.kind === 'coupling' ? '' : is.state ? '–' : got.heat);
    write(share, is.state || got.share === null ? '–' : (100 * got.share).toFixed(0) + ' %');
    share.classList.toggle('too-much', !is.state && got.share > 1);
    write(peak, is.state ? '–' : got.peak);
    if (stepped) { down.disabled = bench.next(one, false) === null; up.disabled = bench.next(one, true) === null; }
    var cost = priced && stepped ? bench.price(one) : 0;
    if (priced && stepped) { write(price, cost === null ? '–' : cost.toFixed(2)); }
    return cost;
  };
  return row;
}

function partsTable(bench, parts, place) {
  var stock = bench.data.stock;
  var priced = Object.keys(stock).some(function (kind) { return stock[kind].pieces.some(function (p) { return p[2] !== null; }); });
  var rows = parts.map(function (one) { return partRow(bench, one, priced); });
  var head = ['Part', 'Value', 'State', 'Heat', 'Share of rating', 'Peak'].concat(priced ? ['Price'] : []).map(function (words, k) {
    return element('th', { scope: 'col', 'class': k < 3 ? '' : words === 'Peak' ? 'number minor' : 'number' }, words);
  });
  var table = element('table', { 'class': 'change' }, [
    element('caption', {}, [element('span', {}, 'All parts')]), element('thead', {}, [element('tr', {}, head)]), element('tbody', {}, rows)
  ]);
  var total = element('p', { 'class': 'total' });
  place.appendChild(element('div', { 'class': 'scroll', tabindex: '0', role: 'group', 'aria-label': 'All parts to change' }, [table]));
  if (priced) { place.appendChild(total); }
  return function (result) {
    var sum = 0, unknown = 0;
    rows.forEach(function (row) { var cost = row.show(result); if (cost === null) { unknown += 1; } else { sum += cost; } });
    if (priced) { write(total, 'Parts of one loudspeaker: ' + sum.toFixed(2) + (unknown ? ', without ' + unknown + ' parts whose price is not known' : '')); }
  };
}

// What a result and the design have in figures: name, now, then, digits, unit.
function figuresOf(result, design) {
  var a = result.figures, b = design.figures, list = [];
  if (a) { list.push(['level', a.level_db, b.level_db, 1, ' dB'], ['flat', a.rms_db, b.rms_db, 2, ' dB'], ['most', a.max_db, b.max_db, 2, ' dB']); }
  if (result.least && design.least) { list.push(['load', result.least.ohm, design.least.ohm, 2, ' Ω'], ['epdr', result.heats.value, design.heats.value, 2, ' Ω']); }
  return list;
}

// The bar that stays in sight: one part, and the figures.
function benchBar(bench, parts, status, save) {
  var chosen = bench.kept.get('chosen'), bar = element('aside', { 'class': 'bench', 'aria-label': 'Bench bar' });
  if (!parts.some(function (one) { return one.name === chosen; })) { chosen = parts[0].name; }
  var part = choice('Part', parts.map(function (one) { return [one.name, one.name]; }), choose);
  var value = valueField(bench, function () { return chosen; }, 'In the bar: ');
  var down = button('−', 'One step down', function () { bench.step(chosen, false); });
  var up = button('+', 'One step up', function () { bench.step(chosen, true); });
  var state = stateField(bench, chosen, 'State of ' + chosen);
  var undo = button('Undo', '', bench.undo), redo = button('Redo', '', bench.redo);
  var reset = button('Reset', 'Reset: back to the design', bench.reset), keep = button('Save', 'Save as design file', save);
  var figures = element('p', { 'class': 'now' });
  var folder = button('▾', 'Fold the bar', function () { fold(!bar.classList.contains('folded')); });
  bar.appendChild(element('div', { 'class': 'tools' }, [
    element('span', {}, [part, down, value, up, state]), element('span', {}, [undo, redo, reset].concat(bench.data.save ? [keep] : []))
  ]));
  [figures, status, folder].forEach(function (one) { bar.appendChild(one); });
  document.body.appendChild(bar);
  document.documentElement.classList.add('has-bench');
  part.value = chosen;
  fold(bench.kept.get('folded') === true);

  function fold(folded) {
    bar.classList.toggle('folded', folded);
    folder.textContent = folded ? '▴ Change a value' : '▾';
    folder.setAttribute('aria-label', folded ? 'Change a value' : 'Fold the bar');
    folder.setAttribute('aria-expanded', String(!folded));
    bench.kept.set('folded', folded);
  }
  function choose(name) {
    chosen = name;
    bench.kept.set('chosen', name);
    part.value = name;
    var field = stateField(bench, name, 'State of ' + name);
    state.replaceWith(field);
    state = field;
    fill();
  }
  function fill() {
    var one = bench.part(chosen), stepped = isStepped(bench, one);
    value.fill(); state.fill();
    down.disabled = !stepped || bench.next(one, false) === null; up.disabled = !stepped || bench.next(one, true) === null;
    undo.disabled = !bench.canUndo(); redo.disabled = !bench.canRedo(); reset.disabled = !bench.changed;
  }
  var WORDS = { level: '', flat: 'rms ', most: 'most ', load: 'least ', epdr: 'EPDR ' };
  return {
    choose: function (name) { choose(name); fold(false); },
    show: function (result) {
      figuresOf(result, bench.design).forEach(function (one, k) {
        var now = one[1].toFixed(one[3]), mark = now === one[2].toFixed(one[3]) ? '' : one[1] > one[2] ? ' ▲' : ' ▼';
        var worse = one[0] === 'flat' || one[0] === 'most' ? one[1] > one[2] : one[1] < one[2];
        if (!figures.children[k]) { figures.appendChild(element('span')); figures.appendChild(document.createTextNode(' ')); }
        figures.children[k].className = mark ? worse ? 'worse' : 'better' : '';
        write(figures.children[k], WORDS[one[0]] + now + one[4] + mark);
      });
      fill();
    }
  };
}

// Names in the drawing choose their part, and its value there follows.
function drawingNames(bench, choose) {
  var labels = [];
  document.querySelectorAll('#drawing .schematic .name').forEach(function (text) {
    var one = bench.part(text.textContent), value = text.nextElementSibling;
    if (!one) { return; }
    var follows = value && value.classList.contains('value') && !one.driver && one.kind !== 'autoformer';
    labels.push({ one: one, name: text, value: follows ? value : null, was: follows ? value.textContent : '' });
    text.style.cursor = 'pointer';
    text.addEventListener('click', function () { choose(one.name); });
  });
  return function () {
    labels.forEach(function (label) {
      var is = bench.now(label.one.name);
      label.name.classList.toggle('changed', is.changed);
      if (label.value) { write(label.value, !is.changed ? label.was : is.state === 'out' ? 'out' : is.state === 'short' ? 'bridged' : shown(label.one.kind, is.value)); }
    });
  };
}

// Figures in the page, each with that of the design under it, and a word at the top that something is changed.
function pageFigures(bench) {
  var cells = [].slice.call(document.querySelectorAll('[data-figure] dd, [data-match], [data-phase]'));
  cells.forEach(function (cell) { cell.asDesigned = cell.innerHTML; });
  var verdict = document.getElementById('verdict'), notice = element('p', { id: 'changed-notice' });
  verdict.parentNode.insertBefore(notice, verdict.nextSibling);
  function put(selector, words, was) {
    var cell = document.querySelector(selector);
    if (!cell || cell.live === words) { return; }
    cell.live = words;
    cell.textContent = words;
    cell.appendChild(element('small', {}, 'design ' + was));
  }
  return function (result) {
    var design = bench.design;
    verdict.classList.toggle('stale', bench.changed);
    notice.hidden = !bench.changed;
    write(notice, bench.changed ? 'Changed on this page: ' + Object.keys(bench.changes()).join(', ') + '. Cautions, bench leaf, parts and all tables below are still those of the design; '
      + 'save the file and run report on it to have them for these values.' : '');
    if (!bench.changed) {
      cells.forEach(function (cell) { if (cell.live) { cell.innerHTML = cell.asDesigned; cell.live = ''; } });
      return;
    }
    figuresOf(result, design).forEach(function (one) { put('[data-figure="' + one[0] + '"] dd', one[1].toFixed(one[3]) + one[4], one[2].toFixed(one[3]) + one[4]); });
    if (!result.figures) { return; }
    result.figures.match_db.forEach(function (db, way) { put('[data-match="' + CSS.escape(bench.data.ways[way]) + '"]', db.toFixed(2) + ' dB', design.figures.match_db[way].toFixed(2)); });
    result.figures.phase_match_deg.forEach(function (deg, k) { put('[data-phase="' + k + '"]', deg.toFixed(0) + '°', design.figures.phase_match_deg[k].toFixed(0) + '°'); });
  };
}
