// What follows a change on the page beside the curves: figures, drawings, bench leaf, stress, labels; and what cannot
// follow, which then says that it is the design's.

var AS_DESIGNED = 'As designed: save the file, and run handover report on it to have this for the changed values.';

// Names in the drawings choose their part; value and resistance there follow.
function drawings(bench, choose) {
  var labels = [];
  document.querySelectorAll('.schematic .name').forEach(function (text) {
    var one = bench.part(text.textContent), value = text.nextElementSibling;
    if (!one) { return; }
    var follows = value && value.classList.contains('value') && !one.driver && one.kind !== 'autoformer';
    var loss = follows && value.nextElementSibling;
    loss = loss && loss.classList.contains('small') && /Ω$/.test(loss.textContent) && one.kind !== 'resistor' ? loss : null;
    labels.push({ one: one, name: text, value: follows ? value : null, was: follows ? value.textContent : '', loss: loss, lost: loss ? loss.textContent : '' });
    labels[labels.length - 1].marks = one.driver ? marksAfter(text) : [];
    text.style.cursor = 'pointer';
    text.addEventListener('click', function () { choose(one.name); });
  });
  return function () {
    labels.forEach(function (label) {
      var is = bench.now(label.one.name);
      label.name.classList.toggle('changed', is.changed);
      if (label.value) { write(label.value, !is.changed ? label.was : is.state ? STATES[is.state] : shown(label.one.kind, is.value)); }
      var turned = label.one.driver && is.inverted !== bench.designed(label.one).inverted;
      label.marks.forEach(function (mark) { write(mark.text, turned ? mark.turned : mark.was); });
      if (label.loss) { write(label.loss, !is.changed ? label.lost : is.state ? '' : shown('resistor', is.loss, 3)); }
    });
  };
}
// The signs at a driver's terminals, and the words that say that its wires are swapped: as drawn, and the other way round.
function marksAfter(name) {
  var found = [], text = name.nextElementSibling;
  for (; text && text.tagName === 'text' && !text.classList.contains('name') && found.length < 3; text = text.nextElementSibling) {
    var was = text.textContent;
    if (was === '+' || was === '−') { found.push({ text: text, was: was, turned: was === '+' ? '−' : '+' }); }
    else if (/^inverted: /.test(was)) { found.push({ text: text, was: was, turned: '' }); }
  }
  return found;
}
var STATES = { out: 'out', 'short': 'bridged' };

// Figures in the page, each with that of the design under it, and the verdict.
function pageFigures(bench) {
  var cells = [].slice.call(document.querySelectorAll('[data-figure] dd, [data-match], [data-phase]'));
  cells.forEach(function (cell) { cell.asDesigned = cell.innerHTML; });
  var verdict = document.getElementById('verdict'), words = verdict.textContent, notice = element('p', { id: 'changed-notice' });
  verdict.parentNode.insertBefore(notice, verdict.nextSibling);
  // What stands on every printed sheet; a style sheet that changes is a matter of the whole page, so it waits for the printer.
  var heads = document.head.appendChild(element('style')), printed = '';
  window.addEventListener('beforeprint', function () { heads.textContent = printed; });
  function put(cell, words, was) {
    if (!cell || cell.live === words) { return; }
    if (!cell.live) { cell.textContent = words; cell.appendChild(element('small', {}, 'design ' + was)); } else { cell.firstChild.data = words; }
    cell.live = words;
  }
  var figureCells = {}, matchCells = bench.data.ways.map(function (way) { return document.querySelector('[data-match="' + CSS.escape(way) + '"]'); });
  ['level', 'flat', 'most', 'load', 'epdr'].forEach(function (name) { figureCells[name] = document.querySelector('[data-figure="' + name + '"] dd'); });
  var phaseCells = [].slice.call(document.querySelectorAll('[data-phase]'));
  return function (result) {
    var design = bench.design;
    notice.hidden = !bench.changed;
    if (!bench.changed) {
      write(verdict, words);
      verdict.classList.remove('in-danger');
      printed = '';
      cells.forEach(function (cell) { if (cell.live) { cell.innerHTML = cell.asDesigned; cell.live = ''; } });
      return;
    }
    write(notice, 'Changed on this page: ' + Object.keys(bench.changes()).join(', ') + '. What is grey is still that of the design.');
    var found = cautionsOf(bench, result), dangers = found.filter(function (one) { return one.danger; }).length;
    var figures = result.figures ? result.figures.level_db.toFixed(1) + ' dB, ' + result.figures.rms_db.toFixed(2) + ' dB rms' : '';
    write(verdict, counted(dangers, 'danger') + ', ' + counted(found.length - dangers, 'caution') + ' of the computed ones; '
      + [figures, result.least ? result.least.ohm.toFixed(2) + ' Ω' : ''].filter(Boolean).join(', '));
    verdict.classList.toggle('in-danger', dangers > 0);
    printed = '@media print{@page{@top-right{content:"changed values: ' + counted(dangers, 'danger').toLowerCase() + ', ' + counted(found.length - dangers, 'caution') + ' of the computed ones"}}}';
    figuresOf(result, design).forEach(function (one) { put(figureCells[one[0]], one[1].toFixed(one[3]) + one[4], one[2].toFixed(one[3]) + one[4]); });
    if (!result.figures) { return; }
    result.figures.match_db.forEach(function (db, way) { put(matchCells[way], db.toFixed(2), design.figures.match_db[way].toFixed(2)); });
    result.figures.phase_match_deg.forEach(function (deg, k) { put(phaseCells[k], deg.toFixed(0), design.figures.phase_match_deg[k].toFixed(0)); });
  };
}
function counted(count, word) { return (count || (word === 'danger' ? 'No' : 'no')) + ' ' + word + (count > 1 ? 's' : ''); }

// The cautions that the page can compute take the place of the design's; of the others it is said that they are old.
function cautionList(bench) {
  var list = element('ul', { 'class': 'cautions live-cautions', 'aria-label': 'Cautions for the changed values' });
  var place = document.querySelector('#before .warned'), heading = element('p', {}, [element('strong', {}, 'For the changed values')]);
  var box = element('div', { 'class': 'live-warned' }, [heading, list]);
  box.hidden = true;
  if (place) { place.insertBefore(box, place.firstChild); }
  var old = [].filter.call(document.querySelectorAll('[data-code]'), function (item) { return FOLLOWED.indexOf(item.dataset.code) >= 0; });
  return function (result) {
    box.hidden = !bench.changed;
    old.forEach(function (item) { item.hidden = bench.changed; });
    list.textContent = '';
    if (!bench.changed) { return; }
    var found = cautionsOf(bench, result);
    found.forEach(function (one) {
      list.appendChild(element('li', { 'data-live': one.code, 'class': one.danger ? 'in-danger' : '' }, one.danger ? [element('strong', {}, 'Danger: '), one.words] : one.words));
    });
    if (!found.length) { list.appendChild(element('li', {}, 'Nothing that the page can compute stands against them.')); }
  };
}

// Parts, and what a meter shows, on the bench leaf.
function leafTables(bench) {
  var rows = followers('#leaf tr[data-part]'), at = [].slice.call(document.querySelectorAll('#leaf [data-at], #leaf [data-direct]'));
  var cable = bench.data.direct.cable_ohm;
  // The meter is at the loudspeaker, without the cable.
  function atTerminals(load, k) {
    var turn = load.phase[k] * Math.PI / 180;
    return Math.hypot(load.ohm[k] * Math.cos(turn) - cable, load.ohm[k] * Math.sin(turn));
  }
  var swapped = document.getElementById('swapped'), was = at.map(function (cell) { return cell.textContent; });
  return function (result) {
    rows.forEach(function (row) {
      row.put(1, bench, function (one, is) { return shown(one.kind, is.value); });
      row.put(2, bench, function (one, is) { return one.kind === 'resistor' || !is.loss ? '' : is.loss.toFixed(2); });
    });
    at.forEach(function (cell, k) {
      var ohm = cell.dataset.at !== undefined ? atTerminals(result.load, Number(cell.dataset.at)) : result.direct === null ? null : result.direct - cable;
      write(cell, !bench.changed ? was[k] : ohm === null || !isFinite(ohm) ? 'open' : ohm.toFixed(2));
    });
    var turned = bench.data.parts.filter(function (one) { return one.driver && bench.now(one.name).inverted; }).map(function (one) { return one.name; });
    swapped.hidden = !turned.length;
    write(swapped.querySelector('span'), turned.join(', '));
  };
}
// Rows that belong to parts, with what stood in them. A part of several pieces that is changed is one piece.
function followers(selector) {
  var seen = {};
  return [].map.call(document.querySelectorAll(selector), function (row) {
    var name = row.dataset.part, first = !seen[name], was = [].map.call(row.children, function (cell) { return cell.textContent; });
    seen[name] = true;
    return {
      row: row, name: name,
      put: function (k, bench, words) {
        var one = bench.part(name), is = bench.now(name), state = is.state ? STATES[is.state] : '';
        var several = !first && bench.piece(one);
        write(row.children[k], !is.changed ? was[k] : several ? 'not needed' : state ? (k === 1 ? state : '') : words(one, is));
        row.classList.toggle('changed', is.changed);
      }
    };
  });
}

// What parts and drivers get, in the tables of what they must survive.
function stressTables(bench) {
  var rows = [].map.call(document.querySelectorAll('#stress tr[data-part], #stress tr[data-driver]'), function (row) {
    var one = bench.data.parts.find(function (part) { return row.dataset.part ? part.name === row.dataset.part : part.driver === row.dataset.driver; });
    return { row: row, one: one, was: row.innerHTML, live: false };
  });
  var whole = document.querySelector('#stress [data-noise]'), wholeWas = whole && whole.textContent;
  return function (result) {
    // All that goes in is burnt in the parts.
    if (whole) { write(whole, !bench.changed ? wholeWas : digits(result.parts.reduce(function (sum, part) { return sum + part.power_w; }, 0), 3) + ' W'); }
    rows.forEach(function (row) {
      var one = row.one, cells = row.row.children;
      if (!one || one.at === null) { return; }
      if (!bench.changed) { if (row.live) { row.row.innerHTML = row.was; row.live = false; } return; }
      row.live = true;
      var got = strain(bench, one, result);
      row.row.classList.toggle('changed', bench.now(one.name).changed);
      if (one.driver) {
        write(cells[1], got.out ? '–' : got.power_w.toFixed(2)); write(cells[2], got.out ? '–' : got.peakV.toFixed(1));
        if (!cells[5].classList.contains('as-designed') && cells[5].textContent !== '–') { cells[5].classList.add('as-designed'); cells[5].insertBefore(document.createTextNode('design '), cells[5].firstChild); }
      } else {
        write(cells[1], got.out ? '–' : inWatts(got.power_w));
        write(cells[2], got.out || !got.buy ? '–' : ratingWords(one.kind, got.buy));
        write(cells[4], got.rated ? ratingWords(one.kind, got.rated) : '–');
        write(cells[5], got.out ? '–' : got.peakV.toFixed(1)); write(cells[6], got.out ? '–' : got.peakA.toFixed(2));
      }
      bar(cells[3], one.name, got);
    });
  };
  function bar(cell, name, got) {
    var used = cell.querySelector('.used'), room = cell.querySelector('.room'), svg = cell.querySelector('svg');
    if (!used) { return; }
    used.setAttribute('width', (Number(room.getAttribute('width')) * Math.min(1, got.used || 0)).toFixed(1));
    svg.setAttribute('aria-label', name + ': ' + (100 * (got.used || 0)).toFixed(0) + ' %');
  }
}

function labelWords(bench) {
  var labels = followers('.labels li[data-part]'), drivers = [].slice.call(document.querySelectorAll('.labels li[data-driver-label]'));
  return function () {
    labels.forEach(function (label) { label.put(1, bench, function (one, is) { return shown(one.kind, is.value); }); });
    drivers.forEach(function (label) {
      var is = bench.now(label.dataset.driverLabel);
      write(label.children[1], is && is.inverted ? 'swapped' : '');
    });
  };
}

// The curves as a table.
function curveTable(bench) {
  var rows = [].map.call(document.querySelectorAll('#curves tr[data-row]'), function (row) {
    return { at: Number(row.dataset.row), cells: row.children, was: [].map.call(row.children, function (cell) { return cell.textContent; }) };
  });
  var order = bench.data.ways.map(function (name) { return bench.data.drivers.findIndex(function (driver) { return driver.name === name; }); });
  function level(db) { return db < 0 ? '–' : db.toFixed(1); }
  return function (result) {
    rows.forEach(function (row) {
      var i = row.at, ohm = result.load.ohm[i];
      var words = [result.sum[i]].concat(order.map(function (driver) { return result.ways[driver][i]; })).map(level);
      words.push(isFinite(ohm) ? ohm.toFixed(2) : 'open', isFinite(ohm) ? result.load.phase[i].toFixed(0).replace('-', '−') : '–');
      words.forEach(function (text, k) { write(row.cells[k + 1], bench.changed ? text : row.was[k + 1]); });
    });
  };
}

// Sections that no script can compute say so while something is changed.
function staleSections(bench) {
  var coils = ['#coils .content', '#placing .content', '#board .content'], any = ['#windows', '#vertical-map', '#pads .content', '#costs .content', '#findings .content',
    '#trade-off .content', '[data-stale]', '#before .cautions:not(.live-cautions)', '#before > .content > .findings'];
  var all = [];
  [[coils, woundOnes], [any, function () { return true; }], [['#leaf .joints'], joined]].forEach(function (group) {
    group[0].forEach(function (selector) {
      document.querySelectorAll(selector).forEach(function (node) {
        var says = null;
        if (!/^(UL|DIV|TABLE)$/.test(node.tagName) || node.classList.contains('content')) {
          says = element('p', { 'class': 'stale-line' }, AS_DESIGNED);
          node.insertBefore(says, /^FIGURE$/.test(node.tagName) ? node.firstElementChild.nextSibling : node.firstChild);
        }
        all.push({ node: node, says: says, when: group[1] });
      });
    });
  });
  function woundOnes() { return Object.keys(bench.changes()).some(function (name) { return bench.part(name).kind === 'inductor'; }); }
  function joined() { return Object.keys(bench.changes()).some(function (name) { var is = bench.now(name); return is.state || is.inverted !== bench.designed(bench.part(name)).inverted; }); }
  return function () {
    all.forEach(function (one) {
      var old = bench.changed && one.when();
      one.node.classList.toggle('as-designed', old);
      if (one.says) { one.says.hidden = !old; }
    });
  };
}
