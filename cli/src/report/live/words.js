// Values as people type and read them.

var UNITS = {
  resistor: { si: 1, unit: 'Ω', file: 'ohm' },
  inductor: { si: 1e-3, unit: 'mH', file: 'mH' },
  capacitor: { si: 1e-6, unit: 'µF', file: 'uF' },
  autoformer: { si: 1e-3, unit: 'mH', file: 'mH' }
};
var UNITS_OF_0 = { 'Ω': 'Ω', 'mH': 'H', 'µF': 'F' };
var PREFIXES = { p: 1e-12, n: 1e-9, u: 1e-6, 'µ': 1e-6, 'μ': 1e-6, m: 1e-3, k: 1e3, K: 1e3, M: 1e6 };

function digits(value, most) { return String(Number(value.toPrecision(most || 4))).replace('-', '−'); }
// As the program prints it: at least one whole of the unit, or so much of it.
var SMALLER = {
  'Ω': [[1e9, 'GΩ'], [1e6, 'MΩ'], [1e3, 'kΩ'], [1, 'Ω', 0.1], [1e-3, 'mΩ']],
  'mH': [[1, 'H'], [1e-3, 'mH'], [1e-6, 'µH']],
  'µF': [[1, 'F'], [1e-3, 'mF'], [1e-6, 'µF'], [1e-9, 'nF'], [1e-12, 'pF']]
};
function unitOf(kind, si, most) {
  var unit = UNITS[kind];
  if (!unit) { return [1, '']; }
  if (!si) { return [1, UNITS_OF_0[unit.unit]]; }
  var all = SMALLER[unit.unit], rounded = Number(si.toPrecision(most || 4));
  return all.find(function (one) { return rounded >= (one[2] || one[0]); }) || all[all.length - 1];
}
function shown(kind, si, most) {
  var unit = unitOf(kind, si, most);
  return digits(si / unit[0], most) + (unit[1] ? ' ' + unit[1] : '');
}
// What a tap takes away: a digit more near the whole winding, so that no tap is said to take nothing.
function tapWords(ratio) {
  if (!ratio) { return ''; }
  var db = 20 * Math.log10(ratio);
  return signed(db, Math.abs(db) < 0.05 ? 2 : 1) + ' dB';
}
function inFile(kind, si) { return String(Number((si / UNITS[kind].si).toPrecision(12))) + ' ' + UNITS[kind].file; }
// `4R7`, `4k7`, `R47`, `4.7 uF`, `0,56 mH`, `12`: in SI, or nothing. A bare number has the unit that `beside` is shown in.
function parsed(kind, text, beside) {
  var unit = UNITS[kind], plain = text.trim().replace(',', '.').replace(/\s+/g, '');
  if (!unit) { return /^0?\.\d+$|^[01]$/.test(plain) && Number(plain) < 1 ? Number(plain) : null; }
  var within = /^(\d*)([RrkKMmuµμnp])(\d+)(?:[FHΩ])?$/.exec(plain);
  var value = null;
  if (within) {
    var letter = within[2];
    if (/[Rr]/.test(letter) && kind !== 'resistor') { return null; }
    var scale = letter === 'R' || letter === 'r' ? 1 : PREFIXES[letter];
    value = Number((within[1] || '0') + '.' + within[3]) * scale;
  } else {
    var spelt = /^(\d+\.?\d*(?:e-?\d+)?|\.\d+)([pnuµμmkKM]?)(ohm|ohms|Ω|Ohm|F|H)?$/.exec(plain);
    if (!spelt) { return null; }
    value = Number(spelt[1]) * (spelt[2] ? PREFIXES[spelt[2]] : spelt[3] ? 1 : beside ? unitOf(kind, beside)[0] : unit.si);
  }
  return value >= 1e-15 && value <= 1e15 ? value : null;
}
function hertz(value) {
  return value < 999.5 ? Number(value.toPrecision(3)) + ' Hz' : Number((value / 1000).toPrecision(3)) + ' kHz';
}
function watts(value) {
  if (value < 1e-3) { return 'none'; }
  return (value < 0.0995 ? value.toPrecision(1) : value < 0.995 ? value.toFixed(2) : value < 99.95 ? value.toFixed(1) : value.toFixed(0)) + ' W';
}
// A heat in a column of watts: as many decimals in every row.
function inWatts(value) { return value.toFixed(2); }
function signed(value, places) {
  var text = value.toFixed(places);
  return (value >= 0 && !/^-/.test(text) ? '+' : '') + text.replace('-', '−');
}
