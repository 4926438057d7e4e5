// The nodal solver: runs the plan that the program compiled (solver/src/nodal/steps.rs), for many frequencies at a
// time. Nothing is decided here; the order of elimination, what meets in which entry and the slots come with the plan.

var LANES = 64;
// A part that is taken out or bridged stays in the plan: as next to nothing, or with a wire of a tenth of a
// milliohm across it. The same stands in the design file that the page saves.
var OPEN_S = 1e-15;
var BRIDGE_S = 1e4;
// As in the program: factors whose squares add up to more have cost accuracy; such a frequency is solved with pivoting.
var FACTOR_SQUARES_LIMIT = 1e6;

// What an entry is made of, added up; `sign` is that of the products.
function gather(lanes, entry, sign) {
  var re = lanes.re, im = lanes.im, sumRe = lanes.sumRe, sumIm = lanes.sumIm, count = lanes.count;
  var k, i, s, w, a, b;
  for (i = 0; i < count; i += 1) { sumRe[i] = 0; sumIm[i] = 0; }
  for (k = 0; k < entry.slots.length; k += 1) {
    s = entry.slots[k] * LANES;
    for (i = 0; i < count; i += 1) { sumRe[i] += re[s + i]; sumIm[i] += im[s + i]; }
  }
  for (k = 0; k < entry.weighted.length; k += 1) {
    s = entry.weighted[k][0] * LANES; w = entry.weighted[k][1];
    for (i = 0; i < count; i += 1) { sumRe[i] += w * re[s + i]; sumIm[i] += w * im[s + i]; }
  }
  for (k = 0; k < entry.updates.length; k += 1) {
    a = entry.updates[k][0] * LANES; b = entry.updates[k][1] * LANES;
    for (i = 0; i < count; i += 1) {
      sumRe[i] += sign * (re[a + i] * re[b + i] - im[a + i] * im[b + i]);
      sumIm[i] += sign * (re[a + i] * im[b + i] + im[a + i] * re[b + i]);
    }
  }
}

function admittances(lanes, set, band, from) {
  var plan = lanes.plan, re = lanes.re, im = lanes.im, count = lanes.count;
  var b, i, s, w, branch, value, loss, x, q;
  for (b = 0; b < plan.branches.length; b += 1) {
    branch = plan.branches[b]; s = b * LANES; value = set.value[branch.of]; loss = set.loss[branch.of];
    for (i = 0; i < count; i += 1) {
      w = band.omega[from + i];
      switch (branch.kind) {
        case 'R': re[s + i] = 1 / value; im[s + i] = 0; break;
        case 'L': x = w * value; q = 1 / (loss * loss + x * x); re[s + i] = loss * q; im[s + i] = -x * q; break;
        case 'C': x = w * value; q = x / (1 + x * loss * x * loss); re[s + i] = x * loss * q; im[s + i] = q; break;
        case 'D': re[s + i] = band.loadRe[branch.of][from + i]; im[s + i] = band.loadIm[branch.of][from + i]; break;
        default:
      }
    }
  }
  plan.groups.forEach(function (group, g) { wind(lanes, group, set, g, band, from); });
  // Parts that are taken out or bridged.
  plan.parts.forEach(function (branches, part) {
    var state = set.state[part];
    if (!state) { return; }
    branches.forEach(function (branch) {
      var at = branch * LANES;
      for (i = 0; i < count; i += 1) {
        if (state === 'out' && plan.branches[branch].kind !== 'W') { re[at + i] = OPEN_S; im[at + i] = 0; }
        if (state === 'short') {
          if (plan.branches[branch].kind !== 'W') { re[at + i] = 0; im[at + i] = 0; }
          re[at + i] += BRIDGE_S;
        }
      }
    });
  });
}

// Admittances of coupled windings: the inverse of R + jωM, by Gauss–Jordan.
function wind(lanes, group, set, g, band, from) {
  var re = lanes.re, im = lanes.im, count = lanes.count;
  var m = group.branches.length, matrix = inductances(group, set, g);
  for (var lane = 0; lane < count; lane += 1) {
    var z = impedance(group, set, g, matrix, band.omega[from + lane]);
    var y = inverse(z[0], z[1], m);
    for (var i = 0; i < m; i += 1) {
      for (var j = i; j < m; j += 1) {
        var at = group.slots[i * m + j] * LANES + lane;
        re[at] = y[0][i * m + j]; im[at] = y[1][i * m + j];
      }
    }
  }
}

function factor(lanes) {
  var plan = lanes.plan, re = lanes.re, im = lanes.im, sumRe = lanes.sumRe, sumIm = lanes.sumIm, squares = lanes.squares, count = lanes.count;
  var p, k, i, pivot, below, q, s, f;
  for (i = 0; i < count; i += 1) { squares[i] = 0; }
  var inverseRe = new Float64Array(count), inverseIm = new Float64Array(count);
  for (p = 0; p < plan.pivots.length; p += 1) {
    pivot = plan.pivots[p];
    gather(lanes, pivot.diagonal, -1);
    for (i = 0; i < count; i += 1) {
      q = 1 / (sumRe[i] * sumRe[i] + sumIm[i] * sumIm[i]);
      inverseRe[i] = sumRe[i] * q; inverseIm[i] = -sumIm[i] * q;
    }
    for (k = 0; k < pivot.below.length; k += 1) {
      below = pivot.below[k]; s = below.entry * LANES; f = below.factor * LANES;
      if (below.sum) {
        gather(lanes, below.sum, 1);
        for (i = 0; i < count; i += 1) { re[s + i] = sumRe[i]; im[s + i] = sumIm[i]; }
      }
      for (i = 0; i < count; i += 1) {
        re[f + i] = re[s + i] * inverseRe[i] - im[s + i] * inverseIm[i];
        im[f + i] = re[s + i] * inverseIm[i] + im[s + i] * inverseRe[i];
        squares[i] += re[f + i] * re[f + i] + im[f + i] * im[f + i];
      }
    }
  }
  gather(lanes, plan.input, -1);
}

function voltages(lanes, drive, out, band, from) {
  var plan = lanes.plan, re = lanes.re, im = lanes.im, sumRe = lanes.sumRe, sumIm = lanes.sumIm, count = lanes.count;
  var p, k, i, pivot, below, f, n, a, b, q, zr, zi;
  for (i = 0; i < count; i += 1) {
    out.inputRe[from + i] = sumRe[i]; out.inputIm[from + i] = sumIm[i];
    zr = band.sourceRe[from + i]; zi = band.sourceIm[from + i];
    a = 1 + zr * sumRe[i] - zi * sumIm[i]; b = zr * sumIm[i] + zi * sumRe[i]; q = drive.volts / (a * a + b * b);
    out.re[1][from + i] = a * q; out.im[1][from + i] = -b * q;
  }
  for (p = plan.pivots.length - 1; p >= 0; p -= 1) {
    pivot = plan.pivots[p];
    var toRe = out.re[pivot.node], toIm = out.im[pivot.node];
    for (i = 0; i < count; i += 1) { toRe[from + i] = 0; toIm[from + i] = 0; }
    for (k = 0; k < pivot.below.length; k += 1) {
      below = pivot.below[k]; f = below.factor * LANES; n = below.node;
      for (i = 0; i < count; i += 1) {
        a = out.re[n][from + i]; b = out.im[n][from + i];
        toRe[from + i] += re[f + i] * a - im[f + i] * b;
        toIm[from + i] += re[f + i] * b + im[f + i] * a;
      }
    }
  }
}

// One frequency by elimination with pivoting, where the planned order has cost accuracy.
function pivoted(lanes, lane, drive, out, band, at) {
  var plan = lanes.plan, re = lanes.re, im = lanes.im;
  var n = plan.nodes - 1, wide = n + 1, aRe = new Float64Array(n * wide), aIm = new Float64Array(n * wide);
  function stamp(p, q, slot) {
    [[p[0], 1], [p[1], -1]].forEach(function (row) {
      [[q[0], 1], [q[1], -1]].forEach(function (column) {
        if (row[0] === 0 || column[0] === 0) { return; }
        var place = (row[0] - 1) * wide + column[0] - 1, sign = row[1] * column[1];
        aRe[place] += sign * re[slot * LANES + lane]; aIm[place] += sign * im[slot * LANES + lane];
      });
    });
  }
  plan.branches.forEach(function (branch, b) { stamp(branch.nodes, branch.nodes, b); });
  plan.groups.forEach(function (group) {
    var m = group.branches.length;
    group.branches.forEach(function (a, i) {
      group.branches.forEach(function (b, j) {
        if (i !== j) { stamp(plan.branches[a].nodes, plan.branches[b].nodes, group.slots[i * m + j]); }
      });
    });
  });
  // One volt at `in`, node 1: its row says so, and the current into it is the admittance.
  var rowRe = aRe.slice(0, n), rowIm = aIm.slice(0, n), j, i, k;
  for (j = 0; j < n; j += 1) { aRe[j] = j === 0 ? 1 : 0; aIm[j] = 0; }
  aRe[n] = 1;
  for (k = 0; k < n; k += 1) {
    var best = k;
    for (i = k + 1; i < n; i += 1) {
      if (Math.hypot(aRe[i * wide + k], aIm[i * wide + k]) > Math.hypot(aRe[best * wide + k], aIm[best * wide + k])) { best = i; }
    }
    for (j = 0; j < wide && best !== k; j += 1) {
      var x = aRe[k * wide + j], y = aIm[k * wide + j];
      aRe[k * wide + j] = aRe[best * wide + j]; aIm[k * wide + j] = aIm[best * wide + j];
      aRe[best * wide + j] = x; aIm[best * wide + j] = y;
    }
    var pr = aRe[k * wide + k], pi = aIm[k * wide + k], q = 1 / (pr * pr + pi * pi);
    for (i = 0; i < n; i += 1) {
      if (i === k) { continue; }
      var er = aRe[i * wide + k], ei = aIm[i * wide + k];
      var fr = (er * pr + ei * pi) * q, fi = (ei * pr - er * pi) * q;
      for (j = k; j < wide; j += 1) {
        aRe[i * wide + j] -= fr * aRe[k * wide + j] - fi * aIm[k * wide + j];
        aIm[i * wide + j] -= fr * aIm[k * wide + j] + fi * aRe[k * wide + j];
      }
    }
  }
  var tRe = [], tIm = [], dRe = 0, dIm = 0;
  for (k = 0; k < n; k += 1) {
    var br = aRe[k * wide + n], bi = aIm[k * wide + n], cr = aRe[k * wide + k], ci = aIm[k * wide + k];
    var size = 1 / (cr * cr + ci * ci);
    tRe[k] = (br * cr + bi * ci) * size; tIm[k] = (bi * cr - br * ci) * size;
    dRe += rowRe[k] * tRe[k] - rowIm[k] * tIm[k]; dIm += rowRe[k] * tIm[k] + rowIm[k] * tRe[k];
  }
  if (!isFinite(dRe) || !isFinite(dIm)) { return; }
  out.inputRe[at] = dRe; out.inputIm[at] = dIm;
  var zr = band.sourceRe[at], zi = band.sourceIm[at];
  var a = 1 + zr * dRe - zi * dIm, b = zr * dIm + zi * dRe, scale = drive.volts / (a * a + b * b);
  for (k = 0; k < n; k += 1) {
    out.re[k + 1][at] = (tRe[k] * a + tIm[k] * b) * scale; out.im[k + 1][at] = (tIm[k] * a - tRe[k] * b) * scale;
  }
}

// What runs a plan; `lanes` in the functions above: the plan and the slots of a few frequencies side by side.
function machine(plan) {
  function slots() { return new Float64Array(plan.slots * LANES); }
  var lanes = { plan: plan, re: slots(), im: slots(), sumRe: new Float64Array(LANES), sumIm: new Float64Array(LANES), squares: new Float64Array(LANES), count: LANES };

  // Voltages of all nodes and the admittance at `in`. `set`: value and loss of each part, state of each part ('out',
  // 'short' or nothing), turns of each group; `band`: angular frequencies, output impedance of the amplifier, admittances of the
  // drivers.
  return function run(set, band, drive) {
    var points = band.omega.length, out = { re: [], im: [], inputRe: new Float64Array(points), inputIm: new Float64Array(points) };
    for (var node = 0; node < plan.nodes; node += 1) { out.re[node] = new Float64Array(points); out.im[node] = new Float64Array(points); }
    for (var from = 0; from < points; from += LANES) {
      lanes.count = Math.min(LANES, points - from);
      admittances(lanes, set, band, from);
      factor(lanes);
      voltages(lanes, drive, out, band, from);
      for (var lane = 0; lane < lanes.count; lane += 1) {
        if (!(lanes.squares[lane] < FACTOR_SQUARES_LIMIT)) { pivoted(lanes, lane, drive, out, band, from + lane); }
      }
    }
    return out;
  };
}

// Inductances between the windings of a group, row by row.
function inductances(group, set, g) {
  var m = group.branches.length, matrix = new Float64Array(m * m), turns = set.turns[g], i, j;
  if (!turns) {
    group.parts.forEach(function (part, k) { matrix[k * m + k] = set.value[part]; });
    group.couplings.forEach(function (coupling) {
      i = coupling[1]; j = coupling[2];
      var mutual = set.value[coupling[0]] * Math.sqrt(set.value[group.parts[i]] * set.value[group.parts[j]]);
      matrix[i * m + j] += mutual; matrix[j * m + i] += mutual;
    });
    return matrix;
  }
  var total = 0, own = 0;
  turns.forEach(function (n) { total += n; own += n * n; });
  var scale = own + group.factor * (total * total - own);
  for (i = 0; i < m; i += 1) {
    for (j = 0; j < m; j += 1) {
      matrix[i * m + j] = (i === j ? 1 : group.factor) * set.value[group.parts[0]] * turns[i] * turns[j] / scale;
    }
  }
  return matrix;
}

// Resistance of a winding; one that is taken out lets nothing pass.
function windingOhm(group, set, g, i) {
  var turns = set.turns[g], part = group.parts[i];
  if (set.state[part] === 'out') { return 1 / OPEN_S; }
  return set.loss[part] * (turns ? turns[i] : 1);
}

// R + jωM of a group.
function impedance(group, set, g, matrix, omega) {
  var m = group.branches.length, zRe = new Float64Array(m * m), zIm = new Float64Array(m * m);
  for (var i = 0; i < m; i += 1) {
    zRe[i * m + i] = windingOhm(group, set, g, i);
    for (var j = 0; j < m; j += 1) { zIm[i * m + j] = omega * matrix[i * m + j]; }
  }
  return [zRe, zIm];
}

// Inverse of a small symmetric matrix with a positive definite imaginary part.
function inverse(aRe, aIm, m) {
  var bRe = new Float64Array(m * m), bIm = new Float64Array(m * m), i, j, k;
  for (i = 0; i < m; i += 1) { bRe[i * m + i] = 1; }
  function scale(x, y, row, pr, pi) {
    for (var c = row * m; c < row * m + m; c += 1) { var t = x[c]; x[c] = t * pr - y[c] * pi; y[c] = t * pi + y[c] * pr; }
  }
  function subtract(x, y, row, other, fr, fi) {
    for (var c = 0; c < m; c += 1) {
      var t = x[other * m + c], u = y[other * m + c];
      x[row * m + c] -= fr * t - fi * u; y[row * m + c] -= fr * u + fi * t;
    }
  }
  for (k = 0; k < m; k += 1) {
    var r = aRe[k * m + k], x = aIm[k * m + k], q = 1 / (r * r + x * x);
    scale(aRe, aIm, k, r * q, -x * q); scale(bRe, bIm, k, r * q, -x * q);
    for (i = 0; i < m; i += 1) {
      if (i === k) { continue; }
      var fr = aRe[i * m + k], fi = aIm[i * m + k];
      subtract(aRe, aIm, i, k, fr, fi); subtract(bRe, bIm, i, k, fr, fi);
    }
  }
  return [bRe, bIm];
}
