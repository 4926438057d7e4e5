// Cautions that are arithmetic on what the page computes, by the rules of the program (solver/src/judge): the others are
// those of the design until the program is asked.

var FOLLOWED = ['load-dangerously-low', 'load-too-low', 'phase-heats-amplifier', 'direct-current-path', 'resistor-overloaded',
  'resistor-without-margin', 'capacitor-over-voltage', 'capacitor-without-margin', 'coil-saturates', 'driver-overloaded',
  'steady-tone-overloads-driver', 'hot-pad-resistors', 'sum-not-flat', 'sum-far-off-the-aim', 'way-off-its-target', 'phases-apart'];

// Of a result: `[code, danger, words]`, dangers first.
function cautionsOf(bench, result) {
  var found = [];
  function say(code, words, danger) { found.push({ code: code, danger: !!danger, words: words }); }
  loadCautions(bench, result, say);
  partCautions(bench, result, say);
  if (result.figures) { figureCautions(bench, result.figures, say); }
  return found.sort(function (a, b) { return b.danger - a.danger; });
}

function loadCautions(bench, result, say) {
  var limits = bench.data.limits, asked = bench.data.asked, limit = asked.least_ohm === null ? limits.usualLeastOhm : asked.least_ohm;
  var least = result.least, direct = result.direct;
  if (least && least.ohm < limit) {
    var danger = least.ohm < limits.dangerousShare * limit;
    say(danger ? 'load-dangerously-low' : 'load-too-low', 'The load falls to ' + least.ohm.toFixed(2) + ' Ω at ' + hertz(least.at_hz) + ', below ' + digits(limit, 3) + ' Ω.', danger);
  }
  if (asked.least_ohm !== null && !asked.valves && result.heats && result.heats.value < limits.epdrShare * asked.least_ohm) {
    say('phase-heats-amplifier', 'The EPDR falls to ' + result.heats.value.toFixed(2) + ' Ω at ' + hertz(result.heats.at_hz) + ', below half the least load.');
  }
  if (direct !== null && direct < limits.directShare * limit) {
    say('direct-current-path', 'Direct current sees ' + direct.toFixed(2) + ' Ω: nothing keeps an offset or a thump out.');
  }
}

function partCautions(bench, result, say) {
  var limits = bench.data.limits, stated = bench.data.noise.stated, hot = [], all = 0;
  bench.data.parts.forEach(function (one) { if (one.at !== null) { all += result.parts[one.at].power_w; } });
  bench.data.parts.forEach(function (one) {
    if (one.at === null) { return; }
    var got = strain(bench, one, result), name = one.name, rated = got.rated, has = rated ? ratingWords(one.kind, rated) : '';
    if (got.out) { return; }
    if (one.kind === 'resistor' && got.power_w >= (stated ? limits.hotW : limits.hotShare * all)) { hot.push([got.power_w, name + ' ' + watts(got.power_w) + (got.buy ? ' (buy ' + got.buy + ' W)' : '')]); }
    if (!stated || !rated) { return; }
    if (one.kind === 'resistor') {
      if (got.power_w > rated) { say('resistor-overloaded', name + ' turns ' + watts(got.power_w) + ' to heat, more than its ' + has + ': it would burn out.', true); }
      else if (limits.powerMargin * got.power_w > rated) { say('resistor-without-margin', name + ' turns ' + watts(got.power_w) + ' to heat and is rated for ' + has + ', less than twice as much.'); }
    } else if (one.kind === 'capacitor') {
      if (got.peakV > rated) { say('capacitor-over-voltage', name + ' gets peaks of ' + got.peakV.toFixed(0) + ' V, more than its ' + has + '.', true); }
      else if (limits.leastVoltageMargin * got.peakV > rated) { say('capacitor-without-margin', name + ' gets peaks of ' + got.peakV.toFixed(0) + ' V and is rated for ' + has + '.'); }
    } else if (one.driver) {
      if (got.power_w > rated) { say('driver-overloaded', one.driver + ' gets ' + watts(got.power_w) + ' of the noise, more than its ' + digits(rated) + ' W.', true); }
      else if (got.sine_w > rated) { say('steady-tone-overloads-driver', 'A steady tone at full power gives ' + one.driver + ' up to ' + got.sine_w.toFixed(0) + ' W, more than its ' + digits(rated) + ' W.'); }
    } else if (got.peakA > rated) { say('coil-saturates', name + ' gets peaks of ' + got.peakA.toFixed(1) + ' A, more than its ' + has + '.'); }
  });
  if (hot.length) {
    hot.sort(function (a, b) { return b[0] - a[0]; });
    say('hot-pad-resistors', 'Hot enough to burn skin: ' + hot.map(function (one) { return one[1]; }).join(', ') + '.');
  }
}

function figureCautions(bench, figures, say) {
  var limits = bench.data.limits;
  if (figures.rms_db > limits.flatnessRmsDb) { say('sum-not-flat', 'The sum is off the aim by ' + figures.rms_db.toFixed(2) + ' dB rms, more than ' + limits.flatnessRmsDb + ' dB.'); }
  if (figures.max_db > limits.flatnessMaxDb) { say('sum-far-off-the-aim', 'The sum is off the aim by ' + figures.max_db.toFixed(1) + ' dB at ' + hertz(figures.max_at_hz) + ', more than ' + limits.flatnessMaxDb + ' dB.'); }
  figures.match_db.forEach(function (db, way) {
    if (db > limits.matchDb) { say('way-off-its-target', bench.data.ways[way] + ' is off its target by ' + db.toFixed(2) + ' dB rms, more than ' + limits.matchDb + ' dB.'); }
  });
  figures.phase_match_deg.forEach(function (deg, k) {
    if (deg > limits.phaseMatchDeg) { say('phases-apart', bench.data.ways[k] + ' and ' + bench.data.ways[k + 1] + ' are ' + deg.toFixed(0) + '° off the phase that their slopes ask for, in the mean, more than ' + limits.phaseMatchDeg + '°.'); }
  });
}
