// From the solved network to what is shown: sounds, load, figures of merit, heat. By the definitions of the program
// (solver/src/goal/figures.rs, load.rs; solver/src/judge/stress); the browser tests hold both to each other.

var REFERENCE_PA = 20e-6, FLOOR_DB = -400, OPEN_OHM = 1e6;

function decode(text) {
  var bytes = atob(text), out = new Uint8Array(bytes.length);
  for (var i = 0; i < bytes.length; i += 1) { out[i] = bytes.charCodeAt(i); }
  return new Float64Array(out.buffer);
}
function parts(pairs, which) { return pairs.map(function (pair) { return decode(pair[which]); }); }
// One number stands for the same at all frequencies.
function spread(part, points) { return typeof part === 'number' ? new Float64Array(points).fill(part) : decode(part); }
function bandOf(band) {
  var f = decode(band.f_hz);
  return {
    f: f, omega: f.map(function (hz) { return 2 * Math.PI * hz; }),
    sourceRe: spread(band.source[0], f.length), sourceIm: spread(band.source[1], f.length),
    loadRe: parts(band.loads, 0), loadIm: parts(band.loads, 1),
    soundRe: parts(band.sounds, 0), soundIm: parts(band.sounds, 1)
  };
}
function levelDb(re, im) {
  var square = (re * re + im * im) / (REFERENCE_PA * REFERENCE_PA);
  var db = 10 / Math.LN10 * Math.log(square);
  return db > FLOOR_DB ? db : FLOOR_DB;
}
function degrees(re, im) {
  if (re === 0 && im === 0) { return 0; }
  var deg = Math.atan2(im, re) * 180 / Math.PI;
  return deg <= -180 ? 180 : deg;
}
// The resistor that heats a class-B stage as much: |Z| / (8 sin³(30° + |φ|/3)).
function epdrOhm(re, im) {
  var s = Math.sin(Math.PI / 6 + Math.abs(Math.atan2(im, re)) / 3);
  return Math.hypot(re, im) / (8 * s * s * s);
}

function total(ways, points) {
  var re = new Float64Array(points), im = new Float64Array(points);
  ways.forEach(function (way) {
    for (var i = 0; i < points; i += 1) { re[i] += way.re[i]; im[i] += way.im[i]; }
  });
  return { re: re, im: im };
}
// Impedance, its phase and its EPDR over frequency; no number where nothing flows.
function loadOf(solved, points) {
  var load = { ohm: new Float64Array(points), phase: new Float64Array(points), epdr: new Float64Array(points) };
  for (var i = 0; i < points; i += 1) {
    var re = solved.inputRe[i], im = solved.inputIm[i], q = 1 / (re * re + im * im);
    load.ohm[i] = isFinite(q) ? Math.hypot(re * q, im * q) : NaN;
    load.phase[i] = isFinite(q) ? degrees(re * q, -im * q) : NaN;
    load.epdr[i] = isFinite(q) ? epdrOhm(re * q, -im * q) : NaN;
  }
  return load;
}
function levels(sound) {
  var out = new Float64Array(sound.re.length);
  for (var i = 0; i < out.length; i += 1) { out[i] = levelDb(sound.re[i], sound.im[i]); }
  return out;
}

// Which of the polarities that the slopes allow is nearer, and the phase counted from it.
function between(lower, upper, at, turns) {
  function off(turn) {
    return at.map(function (i, k) {
      var re = lower.re[i] * upper.re[i] + lower.im[i] * upper.im[i], im = lower.im[i] * upper.re[i] - lower.re[i] * upper.im[i];
      return Math.atan2(re * turn[1][k] + im * turn[0][k], re * turn[0][k] - im * turn[1][k]);
    });
  }
  function size(angles) { return angles.reduce(function (sum, a) { return sum + Math.abs(a); }, 0); }
  var found = turns.map(off);
  return found.length > 1 && size(found[1]) < size(found[0]) ? found[1] : found[0];
}

// A band of a few frequencies in place of a whole one: impedances along straight lines.
function closer(audio, grid) {
  var f = audio.f, band = { omega: grid.map(function (x) { return 2 * Math.PI * x; }), loadRe: [], loadIm: [] };
  // The load is the same whatever drives it.
  band.sourceRe = band.sourceIm = new Float64Array(grid.length);
  audio.loadRe.forEach(function (gRe, d) {
    var gIm = audio.loadIm[d], re = new Float64Array(grid.length), im = new Float64Array(grid.length);
    for (var k = 0; k < grid.length; k += 1) {
      var above = 0, beyond = f.length;
      while (above < beyond) { var middle = (above + beyond) >> 1; if (f[middle] <= grid[k]) { above = middle + 1; } else { beyond = middle; } }
      above = Math.min(Math.max(above, 1), f.length - 1);
      var below = above - 1, share = Math.min(Math.max(Math.log(grid[k] / f[below]) / Math.log(f[above] / f[below]), 0), 1);
      // Impedances are taken along the line, not admittances.
      var qa = 1 / (gRe[below] * gRe[below] + gIm[below] * gIm[below]), qb = 1 / (gRe[above] * gRe[above] + gIm[above] * gIm[above]);
      var zr = gRe[below] * qa * (1 - share) + gRe[above] * qb * share, zi = -gIm[below] * qa * (1 - share) - gIm[above] * qb * share;
      var q = 1 / (zr * zr + zi * zi);
      re[k] = zr * q; im[k] = -zi * q;
    }
    band.loadRe.push(re); band.loadIm.push(im);
  });
  return band;
}

// Puts fields into a result that are worked out when they are asked for, once.
function onDemand(result, later) {
  Object.keys(later).forEach(function (name) {
    var known = null;
    Object.defineProperty(result, name, { enumerable: true, get: function () { return known || (known = later[name]()); } });
  });
  return result;
}

// What figures of merit are counted with; nothing where the design has no aim.
function meritOf(found) {
  if (!found) { return null; }
  function pairs(all) { return all.map(function (pair) { return [decode(pair[0]), decode(pair[1])]; }); }
  return {
    band: bandOf(found.band), tilt: decode(found.tilt_db),
    window: found.window && pairs(found.window), audio_window: found.audio_window && pairs(found.audio_window),
    ways: found.ways.map(function (way) { return { level: decode(way.level_db), weight: decode(way.weight) }; }),
    crossovers: found.crossovers.map(function (c) {
      return { near: c.near, wide: c.wide, turns: pairs(c.turns), wideTurns: pairs(c.wide_turns) };
    })
  };
}
// Sound of every driver: its voltage times what it gives for one volt.
function soundsOf(speaker, set, band, solved) {
  return speaker.data.drivers.map(function (driver, d) {
    var points = band.f.length, re = new Float64Array(points), im = new Float64Array(points);
    var a = driver.nodes[0], b = driver.nodes[1], sign = set.inverted[d] ? -1 : 1;
    var pr = band.soundRe[d], pi = band.soundIm[d];
    for (var i = 0; i < points; i += 1) {
      var vr = sign * (solved.re[a][i] - solved.re[b][i]), vi = sign * (solved.im[a][i] - solved.im[b][i]);
      re[i] = vr * pr[i] - vi * pi[i]; im[i] = vr * pi[i] + vi * pr[i];
    }
    return { re: re, im: im };
  });
}
// The mean power over the listening window, a Hermitian form in the sounds on the axis (solver/src/sound/coherence.rs).
function overWindow(window, ways, points) {
  var out = new Float64Array(points);
  for (var i = 0; i < points; i += 1) {
    var power = 0, pair = 0;
    for (var a = 0; a < ways.length; a += 1) {
      for (var b = a; b < ways.length; b += 1, pair += 1) {
        var re = ways[a].re[i] * ways[b].re[i] + ways[a].im[i] * ways[b].im[i], im = ways[a].im[i] * ways[b].re[i] - ways[a].re[i] * ways[b].im[i];
        power += (a === b ? 1 : 2) * (re * window[pair][0][i] - im * window[pair][1][i]);
      }
    }
    out[i] = levelDb(Math.sqrt(Math.max(power, 0)), 0);
  }
  return out;
}

// Figures of merit, on the frequencies where they are judged.
function figuresOfMerit(speaker, set) {
  var data = speaker.data, merit = speaker.merit;
  var band = merit.band, points = band.f.length, solved = speaker.run(set, band, data.drive);
  var all = soundsOf(speaker, set, band, solved), ways = data.merit.order.map(function (d) { return all[d]; });
  var sum = merit.window ? overWindow(merit.window, ways, points) : levels(total(ways, points));
  var over = sum.map(function (db, i) { return db - merit.tilt[i]; });
  var judged = data.merit.judged, count = Math.max(judged.length, 1), mean = 0, square = 0, worst = judged[0] || 0;
  judged.forEach(function (i) { mean += over[i]; });
  var level = data.merit.level_db === null ? mean / count : data.merit.level_db;
  judged.forEach(function (i) {
    square += (over[i] - level) * (over[i] - level);
    if (Math.abs(over[i] - level) > Math.abs(over[worst] - level)) { worst = i; }
  });
  return {
    level_db: level, rms_db: Math.sqrt(square / count), max_db: Math.abs(over[worst] - level), max_at_hz: band.f[worst],
    match_db: ways.map(function (way, w) {
      var off = 0, weight = 0, target = merit.ways[w];
      for (var i = 0; i < points; i += 1) {
        var db = levelDb(way.re[i], way.im[i]) - level - target.level[i];
        off += target.weight[i] * db * db; weight += target.weight[i];
      }
      return Math.sqrt(off / Math.max(weight, Number.MIN_VALUE));
    }),
    phase_match_deg: merit.crossovers.map(function (c, k) {
      var angles = between(ways[k], ways[k + 1], c.near, c.turns);
      return angles.reduce(function (sum, a) { return sum + Math.abs(a) * 180 / Math.PI; }, 0) / Math.max(angles.length, 1);
    })
  };
}

// The least of a measure of the load, between the frequencies too: closer looks of 33 frequencies, each a sixteenth
// as wide, with the drivers' impedances taken along straight lines in log-frequency.
function leastLoad(speaker, set, solved, measure) {
  var audio = speaker.audio;
  function at(found, i) {
    var re = found.inputRe[i], im = found.inputIm[i], q = 1 / (re * re + im * im);
    return isFinite(q) ? measure(re * q, -im * q) : Infinity;
  }
  function lowest(found, points) {
    var best = -1;
    for (var i = 0; i < points; i += 1) {
      var value = at(found, i);
      if (isFinite(value) && (best < 0 || value < at(found, best))) { best = i; }
    }
    return best;
  }
  var f = audio.f, place = lowest(solved, f.length), found = null, grid = null;
  if (place < 0) { return null; }
  var ends = [f[Math.max(place - 1, 0)], f[Math.min(place + 1, f.length - 1)]];
  for (var look = 0; look < 3; look += 1) {
    grid = new Float64Array(33);
    for (var k = 0; k < 33; k += 1) { grid[k] = ends[0] * Math.pow(ends[1] / ends[0], k / 32); }
    found = speaker.run(set, closer(audio, grid), speaker.data.drive);
    place = Math.max(lowest(found, 33), 0);
    ends = [grid[Math.max(place - 1, 0)], grid[Math.min(place + 1, 32)]];
  }
  var re = found.inputRe[place], im = found.inputIm[place], q = 1 / (re * re + im * im);
  return { value: at(found, place), at_hz: grid[place], ohm: Math.hypot(re * q, im * q) };
}
// What direct current sees, in ohm; nothing where none flows.
function directOhm(speaker, set) {
  var data = speaker.data;
  var none = new Float64Array(1), coils = data.direct.siemens;
  var band = { omega: Float64Array.of(data.direct.omega), sourceRe: none, sourceIm: none,
    loadRe: coils.map(function (y) { return Float64Array.of(y); }), loadIm: coils.map(function () { return none; }) };
  var found = speaker.run(set, band, data.drive), re = found.inputRe[0], im = found.inputIm[0], ohm = 1 / Math.hypot(re, im);
  // What is mostly a reactance is a capacitor, however large.
  return ohm < OPEN_OHM && Math.abs(re) > Math.abs(im) ? ohm : null;
}

// What flows in every part: heat of the noise in watt, and the peaks of a sine at its worst frequency.
function stressOf(speaker, set, solved) {
  var data = speaker.data, plan = data.plan, audio = speaker.audio, weights = speaker.weights, gain = data.noise.gain;
  var out = data.names.map(function () { return { power_w: 0, rms_v: 0, rms_a: 0, sine_v: 0, sine_a: 0, sine_w: 0 }; });
  var points = audio.f.length, oneRe = 0, oneIm = 0, windings;
  function walk(part, at, ohm, current) {
    var mine = out[part], rmsA = 0, power = 0, mostA = 0, mostW = 0;
    for (var i = 0; i < points; i += 1) {
      current(i);
      var square = oneRe * oneRe + oneIm * oneIm;
      var watt = ohm === null ? at[0][i] * oneRe + at[1][i] * oneIm : square * ohm;
      power += gain * gain * weights[i] * watt; rmsA += weights[i] * square;
      if (square > mostA) { mostA = square; }
      if (watt > mostW) { mostW = watt; }
    }
    mine.power_w += power;
    mine.sine_a = Math.max(mine.sine_a, Math.SQRT2 * gain * Math.sqrt(mostA));
    mine.sine_w = Math.max(mine.sine_w, gain * gain * mostW);
    mine.rms_a = Math.max(mine.rms_a, gain * Math.sqrt(rmsA));
  }
  function voltage(part, a, b) {
    var mine = out[part], square = 0, most = 0, re = new Float64Array(points), im = new Float64Array(points);
    var aRe = solved.re[a], aIm = solved.im[a], bRe = solved.re[b], bIm = solved.im[b];
    for (var i = 0; i < points; i += 1) {
      re[i] = aRe[i] - bRe[i]; im[i] = aIm[i] - bIm[i];
      var size = re[i] * re[i] + im[i] * im[i];
      square += weights[i] * size;
      if (size > most) { most = size; }
    }
    mine.sine_v = Math.max(mine.sine_v, Math.SQRT2 * gain * Math.sqrt(most));
    mine.rms_v = gain * Math.sqrt(square);
    return [re, im];
  }
  plan.parts.forEach(function (branches, part) {
    if (branches.length !== 1 || plan.branches[branches[0]].kind === 'W' || set.state[part]) { return; }
    var branch = plan.branches[branches[0]], v = voltage(part, branch.nodes[0], branch.nodes[1]);
    var value = set.value[branch.of], loss = set.loss[branch.of], driver = branch.kind === 'D';
    walk(part, v, driver ? null : branch.kind === 'R' ? value : loss, function (i) {
      var yr, yi, w = audio.omega[i], x, q;
      if (driver) { yr = audio.loadRe[branch.of][i]; yi = audio.loadIm[branch.of][i]; }
      else if (branch.kind === 'R') { yr = 1 / value; yi = 0; }
      else { x = branch.kind === 'L' ? w * value : -1 / (w * value); q = 1 / (loss * loss + x * x); yr = loss * q; yi = -x * q; }
      oneRe = v[0][i] * yr - v[1][i] * yi; oneIm = v[0][i] * yi + v[1][i] * yr;
    });
  });
  plan.groups.forEach(function (group, g) {
    var m = group.branches.length, matrix = inductances(group, set, g);
    var v = group.branches.map(function (branch, k) {
      return voltage(group.parts[k], plan.branches[branch].nodes[0], plan.branches[branch].nodes[1]);
    });
    windings = [];
    for (var i = 0; i < points; i += 1) {
      var z = impedance(group, set, g, matrix, audio.omega[i]);
      windings.push(inverse(z[0], z[1], m));
    }
    group.branches.forEach(function (branch, k) {
      if (set.state[group.parts[k]]) { return; }
      walk(group.parts[k], v[k], windingOhm(group, set, g, k), function (i) {
        var re = 0, im = 0;
        for (var j = 0; j < m; j += 1) {
          var yr = windings[i][0][k * m + j], yi = windings[i][1][k * m + j];
          re += yr * v[j][0][i] - yi * v[j][1][i]; im += yr * v[j][1][i] + yi * v[j][0][i];
        }
        oneRe = re; oneIm = im;
      });
    });
    // Of an autoformer the voltage is that of the whole winding.
    if (set.turns[g]) { voltage(group.parts[0], plan.branches[group.branches[0]].nodes[0], plan.branches[group.branches[m - 1]].nodes[1]); }
  });
  return out;
}

// All of it. `parts` of the result are in the order of the plan.
function computed(speaker, set) {
  var data = speaker.data, audio = speaker.audio, merit = speaker.merit;
  var solved = speaker.run(set, audio, data.drive), ways = soundsOf(speaker, set, audio, solved), points = audio.f.length;
  var sum = total(ways, points);
  return onDemand({
    f: audio.f, sum: levels(sum), sumSound: sum,
    // Where it is judged.
    judged: merit && merit.audio_window ? overWindow(merit.audio_window, data.merit.order.map(function (d) { return ways[d]; }), points) : levels(sum),
    ways: ways.map(levels),
    least: leastLoad(speaker, set, solved, Math.hypot), heats: leastLoad(speaker, set, solved, epdrOhm),
    figures: merit ? figuresOfMerit(speaker, set) : null
  }, {
    load: function () { return loadOf(solved, points); },
    direct: function () { return directOhm(speaker, set); },
    parts: function () { return stressOf(speaker, set, solved); },
    transfer: function () { return data.drivers.map(function (driver) {
      var a = driver.nodes[0], b = driver.nodes[1], out = new Float64Array(points);
      for (var k = 0; k < points; k += 1) {
        var db = 20 * Math.log10(Math.hypot(solved.re[a][k] - solved.re[b][k], solved.im[a][k] - solved.im[b][k]) / data.drive.volts);
        out[k] = db > FLOOR_DB ? db : FLOOR_DB;
      }
      return out;
    }); },
    between: function () { return merit ? merit.crossovers.map(function (c, k) {
      var order = data.merit.order, angles = between(ways[order[k]], ways[order[k + 1]], c.wide, c.wideTurns);
      return { at: c.wide, deg: angles.map(function (a) { return a * 180 / Math.PI; }) };
    }) : []; }
  });
}

function loudspeaker(data) {
  var speaker = { data: data, run: machine(data.plan), audio: bandOf(data.audio), weights: decode(data.noise.weights), merit: meritOf(data.merit) };
  return {
    compute: function (set) { return computed(speaker, set); },
    // The values of the design, to be changed.
    fresh: function () {
      return {
        value: Float64Array.from(data.value), loss: Float64Array.from(data.loss), state: data.names.map(function () { return ''; }),
        turns: data.plan.groups.map(function (group) { return group.turns ? group.turns.slice() : null; }),
        inverted: data.drivers.map(function (driver) { return driver.inverted; })
      };
    }
  };
}
