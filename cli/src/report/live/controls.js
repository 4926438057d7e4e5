// The controls: fields and buttons, the table of all parts, the bar with one part at a time, and what shows figures.
// Each part of the page gives a function that shows a result.

// A text that has not changed is left alone: the browser would set the page anew for it.
// One that has changed is put into the text node that is there, so that no rule about children is asked anew.
function write(node, words) {
  if (node.classList.contains('amount')) {
    if (node.textContent !== words) { node.textContent = ''; amount(words).forEach(function (one) { node.appendChild(one); }); }
    return;
  }
  var only = node.firstChild;
  if (only && only === node.lastChild && only.nodeType === 3 && words) { if (only.data !== words) { only.data = words; } return; }
  if (node.textContent !== words) { node.textContent = words; }
}
// A value of a part as it stands in a column of several units: as the program writes it.
function amount(words) {
  var parted = /^(\d+)(\.\d+)? (\S+)$/.exec(words);
  return parted ? [document.createTextNode(parted[1]), element('span', { 'class': 'fraction' }, parted[2] || ''), document.createTextNode(' '), element('span', { 'class': 'unit' }, parted[3])]
    : [document.createTextNode(words)];
}
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
    if (one.driver || input.value === input.shown) { return; }
    if (one.kind === 'autoformer') {
      var db = Number(input.value.replace(',', '.').replace('−', '-').replace(/\s*dB$/, ''));
      if (isFinite(db) && input.value.trim() !== '' && db !== 0 && Math.abs(db) < 40) { bench.ratio(name, Number(Math.pow(10, -Math.abs(db) / 20).toPrecision(6))); return; }
    } else {
      var si = parsed(one.kind, input.value, is.value);
      if (si !== null) { if (Math.abs(si / is.value - 1) > 1e-9 || is.state) { bench.value(name, si); } else { fill(); } return; }
    }
    input.setAttribute('aria-invalid', 'true');
    bench.say('“' + input.value + '” is no value: write it as 4R7, 4.7 uF, 0.56 mH or 8.2.');
  }
  function fill() {
    var name = nameOf(), one = bench.part(name), is = bench.now(name);
    input.removeAttribute('aria-invalid');
    var words = one.driver ? (is.state ? 'disconnected' : is.inverted ? 'wires swapped' : 'as drawn')
      : one.kind === 'autoformer' ? tapWords(is.ratio) : shown(one.kind, is.value);
    if (input.value !== words) { input.value = words; }
    input.disabled = !!one.driver || (one.kind === 'autoformer' && !is.ratio);
    input.shown = input.value;
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
  var filled = '';
  row.fields = function () {
    var is = bench.now(name), words = [is.value, is.state, is.inverted, is.ratio].join();
    if (words === filled && value.value === value.shown) { return; }
    filled = words;
    value.fill(); state.fill();
  };
  row.show = function (result) {
    var is = bench.now(name), got = strain(bench, one, result);
    row.fields();
    row.classList.toggle('changed', is.changed);
    write(was, is.changed ? designWords(bench, one) : '');
    write(heat, got.out ? '–' : inWatts(got.power_w));
    write(share, got.used === null ? '–' : (100 * got.used).toFixed(0));
    share.classList.toggle('too-much', got.used !== null && got.used > 1);
    write(peak, got.out ? '–' : one.kind === 'capacitor' ? got.peakV.toFixed(1) + ' V' : one.kind === 'inductor' || one.kind === 'autoformer' ? got.peakA.toFixed(1) + ' A' : '');
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
  var head = ['Part', 'Value', 'State', 'Heat, W', 'Share of rating, %', 'Peak'].concat(priced ? ['Price'] : []).map(function (words, k) {
    return element('th', { scope: 'col', 'class': k < 3 ? '' : words === 'Peak' ? 'number minor' : 'number' }, words);
  });
  var table = element('table', { 'class': 'change' }, [
    element('caption', {}, [element('span', {}, 'All parts')]), element('thead', {}, [element('tr', {}, head)]), element('tbody', {}, rows)
  ]);
  var total = element('p', { 'class': 'total' });
  place.appendChild(element('div', { 'class': 'scroll', tabindex: '0', role: 'group', 'aria-label': 'All parts to change' }, [table]));
  if (priced) { place.appendChild(total); }
  // Fields follow at once, the rest of the table when there is time.
  var show = function (result) {
    var sum = 0, unknown = 0;
    rows.forEach(function (row) { var cost = row.show(result); if (cost === null) { unknown += 1; } else { sum += cost; } });
    if (priced) { write(total, 'Parts of one loudspeaker: ' + sum.toFixed(2) + (unknown ? ', without ' + unknown + ' parts whose price is not known' : '')); }
  };
  show.fields = function () { rows.forEach(function (row) { row.fields(); }); };
  return show;
}
