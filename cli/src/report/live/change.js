// Values that are changed: what is changed, undone and kept; the curves and figures that follow.

// What is kept between visits, by design; where the browser refuses, the page only forgets.
function keeper(name) {
  return {
    get: function (key) { try { return JSON.parse(localStorage.getItem(name + key)); } catch (refused) { return null; } },
    set: function (key, value) { try { localStorage.setItem(name + key, JSON.stringify(value)); } catch (refused) { /* forgotten */ } }
  };
}
// Another design under the same name has nothing to do with what was changed here.
function fingerprint(text) {
  var hash = 5381;
  for (var i = 0; i < text.length; i += 1) { hash = (hash * 33 ^ text.charCodeAt(i)) >>> 0; }
  return hash.toString(36);
}

function same(a, b) { return Math.abs(a - b) <= 1e-6 * Math.abs(b); }

// Parts as they are now: `changes` by name, on top of the design.
function changedParts(data, speaker) {
  var all = { changes: {} };
  function part(name) { return data.parts.find(function (one) { return one.name === name; }); }
  function change(name) { return all.changes[name] || {}; }
  function designed(one) { return { value: data.value[one.at], loss: data.loss[one.at], inverted: one.inverted, ratio: one.taps && one.taps.length ? one.taps[0][1] : null }; }
  // A part as it is now.
  function now(name) {
    var one = part(name), was = designed(one), mine = change(name);
    return {
      value: mine.value === undefined ? was.value : mine.value, loss: mine.loss === undefined ? was.loss : mine.loss,
      state: mine.state || '', inverted: mine.inverted === undefined ? was.inverted : mine.inverted,
      ratio: mine.ratio === undefined ? was.ratio : mine.ratio, changed: Object.keys(mine).length > 0
    };
  }
  function set() {
    var values = speaker.fresh();
    Object.keys(all.changes).forEach(function (name) {
      var one = part(name), is = now(name);
      if (!one) { return; }
      values.value[one.at] = is.value; values.loss[one.at] = is.loss; values.state[one.at] = is.state;
      if (one.driver) { values.inverted[data.drivers.findIndex(function (d) { return d.name === one.driver; })] = is.inverted; }
      if (one.taps) {
        data.plan.groups.forEach(function (group, g) {
          if (!group.turns || group.parts[0] !== one.at) { return; }
          var ratios = [1].concat(one.taps.map(function (tap, k) { return k === 0 ? is.ratio : tap[1]; }), [0]);
          values.turns[g] = ratios.slice(1).map(function (ratio, k) { return ratios[k] - ratio; });
        });
      }
    });
    return values;
  }

  function put(name, fields) {
    var one = part(name), mine = Object.assign({}, change(name), fields), was = designed(one);
    if (fields.value !== undefined) {
      mine.loss = same(fields.value, was.value) ? was.loss : all.lossOf(one, fields.value);
      if (same(fields.value, was.value)) { delete mine.value; delete mine.loss; }
    }
    if (!mine.state) { delete mine.state; }
    if (mine.inverted === was.inverted) { delete mine.inverted; }
    if (mine.ratio === was.ratio) { delete mine.ratio; }
    if (Object.keys(mine).length) { all.changes[name] = mine; } else { delete all.changes[name]; }
  }
  Object.assign(all, { part: part, designed: designed, now: now, set: set, put: put }, stockFor(data, designed, now));
  return all;
}

// What the stock has for a part.
function stockFor(data, designed, now) {
  // The loss that belongs to a value: of the stock's piece, by the stock's law, or as it was.
  function lossOf(one, si) {
    var stock = data.stock[one.kind], piece = stock && stock.pieces.find(function (p) { return same(p[0], si); });
    if (piece && piece[1] !== null) { return piece[1]; }
    if (stock && stock.law) { return Number((stock.law[0] * Math.pow(si, stock.law[1])).toPrecision(4)); }
    return designed(one).loss;
  }
  // The stock's next value in a direction; where the design's own value lies between, it is one of them.
  function next(one, up) {
    var stock = data.stock[one.kind], is = now(one.name).value, was = designed(one).value;
    var values = (stock ? stock.pieces.map(function (p) { return p[0]; }) : []).concat([was]);
    values = values.filter(function (v) { return !same(v, is) && (up ? v > is : v < is); });
    return values.length ? values.reduce(function (a, b) { return (up ? b < a : b > a) ? b : a; }) : null;
  }
  // The piece of the stock that stands for a part whose value is changed; nothing where it is the design's.
  function piece(one) {
    var is = now(one.name), stock = data.stock[one.kind];
    if (one.driver || !is.changed || same(is.value, designed(one).value)) { return null; }
    var found = stock && stock.pieces.find(function (p) { return same(p[0], is.value); });
    return {
      rated: found && found[3] !== null ? found[3] : stock && stock.power || null,
      price: found ? found[2] : null, item: found ? found[4] : null, tolerance: stock ? stock.tolerance : null
    };
  }
  function price(one) {
    var stock = data.stock[one.kind], is = now(one.name), pieces = is.changed && !same(is.value, designed(one).value) ? [is.value] : one.pieces;
    if (!stock || is.state) { return is.state === 'out' || is.state === 'short' ? 0 : null; }
    return pieces.reduce(function (sum, value) {
      var piece = stock.pieces.find(function (p) { return same(p[0], value) && p[2] !== null; });
      return sum === null || !piece ? null : sum + piece[2];
    }, 0);
  }

  return { lossOf: lossOf, next: next, piece: piece, price: price };
}

// Group delay of a sound in ms, over a stated share of an octave.
function delayOf(data, sound) {
  var points = f.length, phase = new Float64Array(points), out = new Float64Array(points), i, turn = 0;
  for (i = 0; i < points; i += 1) {
    phase[i] = degrees(sound.re[i], sound.im[i]) + turn;
    if (i > 0) { while (phase[i] - phase[i - 1] > 180) { phase[i] -= 360; turn -= 360; } while (phase[i] - phase[i - 1] <= -180) { phase[i] += 360; turn += 360; } }
  }
  var half = Math.round(0.5 * data.delay_octaves / (Math.log2(f[points - 1] / f[0]) / (points - 1)));
  for (i = 0; i < points; i += 1) {
    var a = Math.max(0, i - half), b = Math.min(points - 1, i + half);
    out[i] = levelDb(sound.re[i], sound.im[i]) < -100 ? NaN : -(phase[b] - phase[a]) / 360 / (f[b] - f[a]) * 1e3;
  }
  return out;
}

// For each picture what gives the values of its curves: they are worked out when it is looked at.
function curvesOf(data, result) {
  var order = data.ways.map(function (name) { return data.drivers.findIndex(function (driver) { return driver.name === name; }); });
  function ofWays(all, values) {
    order.forEach(function (driver, way) { all['way' + way] = values[driver]; });
    return all;
  }
  return {
    response: function () { return ofWays({ sum: result.sum }, result.ways); },
    sum: function () { return { sum: offTheAim(data, result) }; },
    transfer: function () { return ofWays({}, result.transfer); },
    load: function () { return { sum: result.load.ohm, second: result.load.phase, way1: result.load.epdr }; },
    'group-delay': function () { return { sum: delayOf(data, result.sumSound) }; },
    phase: function () {
      var all = {};
      result.between.forEach(function (one, k) {
        var values = all['way' + k] = new Float64Array(f.length).fill(NaN);
        one.at.forEach(function (i, n) { values[i] = one.deg[n]; });
      });
      return all;
    }
  };
}
// How far the sum is off the aim, in dB.
function offTheAim(data, result) {
  var over = result.judged.map(function (db, i) { return db - data.aim.tilt_db * Math.log2(f[i] / 1000); }), level = result.figures ? result.figures.level_db : 0;
  if (!result.figures) {
    var within = over.filter(function (db, i) { return f[i] >= data.aim.from_hz && f[i] <= data.aim.to_hz; });
    level = within.reduce(function (a, b) { return a + b; }, 0) / Math.max(within.length, 1);
  }
  return over.map(function (db) { return db - level; });
}
// What is undone and done again. `edited` is called with whatever was changed.
function editing(parts, edited) {
  var before = [], after = [], put = parts.put;
  function now() { return JSON.stringify(parts.changes); }
  function edit(work) {
    before.push(now()); after = [];
    work();
    if (before[before.length - 1] === now()) { before.pop(); }
    edited();
  }
  function back(from, to) {
    if (!from.length) { return; }
    to.push(now()); parts.changes = JSON.parse(from.pop());
    edited();
  }
  return {
    value: function (name, si) { edit(function () { put(name, { value: si, state: '' }); }); },
    state: function (name, state) { edit(function () { put(name, { state: state }); }); },
    swap: function (name, inverted) { edit(function () { put(name, { inverted: inverted }); }); },
    wires: function (name, state, inverted) { edit(function () { put(name, { state: state, inverted: inverted }); }); },
    ratio: function (name, ratio) { edit(function () { put(name, { ratio: ratio }); }); },
    pad: function (pad, step) {
      edit(function () {
        pad.parts.forEach(function (name) { delete parts.changes[name]; });
        (step ? step.set : []).forEach(function (one) { put(one[0], one[2] === undefined ? { value: one[1] } : { ratio: one[2] }); });
      });
    },
    undo: function () { back(before, after); }, redo: function () { back(after, before); },
    reset: function () { edit(function () { parts.changes = {}; }); },
    canUndo: function () { return before.length > 0; }, canRedo: function () { return after.length > 0; }
  };
}

// Of the design only the pictures are on the page: what they show is worked out here.
function takeDesign(drawnAs) {
  Object.keys(page.charts).forEach(function (id) {
    var values = drawnAs[id] ? drawnAs[id]() : {};
    page.charts[id].forEach(function (curve) {
      if (!curve.values) { curve.values = values[curve.key] || []; }
    });
  });
}

function workbench(data, show) {
  var speaker = loudspeaker(data), design = speaker.compute(speaker.fresh()), parts = changedParts(data, speaker), bench;
  var kept = keeper('handover ' + data.file + ' ' + fingerprint(JSON.stringify([data.value, data.loss, data.names])) + ' ');

  // Everything anew: at once, and then once a frame at most.
  var asked = false, drawnAt = -1;
  function compute() {
    if (asked) { return; }
    var frame = document.timeline ? document.timeline.currentTime : null;
    if (frame !== null && frame !== drawnAt) { drawnAt = frame; update(); return; }
    asked = true;
    requestAnimationFrame(update);
  }
  function update() {
    var started = performance.now();
    asked = false;
    bench.changed = Object.keys(parts.changes).length > 0;
    bench.result = bench.changed ? speaker.compute(parts.set()) : design;
    redraw(bench.changed ? curvesOf(data, bench.result) : null);
    show();
    bench.milliseconds = performance.now() - started;
  }

  takeDesign(curvesOf(data, design));
  bench = {
    data: data, design: design, result: design, changed: false, speaker: speaker, kept: kept, update: update,
    part: parts.part, now: parts.now, designed: parts.designed, next: parts.next, price: parts.price, piece: parts.piece,
    set: parts.set, off: function (result) { return offTheAim(data, result); },
    step: function (name, up) { var to = parts.next(parts.part(name), up); if (to !== null) { bench.value(name, to); } },
    keep: function () { kept.set('changes', parts.changes); },
    changes: function () { return parts.changes; }, file: function () { return designFile(bench); },
    begin: function () {
      var old = kept.get('changes');
      if (old && typeof old === 'object') { Object.keys(old).forEach(function (name) { if (parts.part(name)) { parts.changes[name] = old[name]; } }); }
      update();
    }
  };
  return Object.assign(bench, editing(parts, compute));
}
