// What parts get and what they must be rated for, by the rules of the program (solver/src/judge/stress); its limits come
// with the data.

function roundedUp(least, sizes) {
  var largest = sizes[sizes.length - 1], size = sizes.find(function (one) { return one >= least; });
  return size === undefined ? largest * Math.ceil(least / largest) : size;
}
// What a part gets now, in watt, volt and ampere; `buy` is the rating to buy for each piece, `rated` what the whole stands,
// `sold` what the stock's piece stands.
function strain(bench, one, result) {
  var got = result.parts[one.at], limits = bench.data.limits, is = bench.now(one.name), crest = one.crest || [0, 0];
  var piece = bench.piece(one), share = piece ? 1 : one.share || 1;
  var peakV = Math.max(got.sine_v, crest[0] * got.rms_v), peakA = Math.max(got.sine_a, crest[1] * got.rms_a);
  var out = { power_w: got.power_w, sine_w: got.sine_w, peakV: peakV, peakA: peakA, share: share, pieces: piece ? 1 : one.pieces.length, buy: null };
  out.rated = piece ? piece.rated : one.rated === undefined ? null : one.rated;
  out.out = one.kind === 'coupling' || !!is.state;
  if (one.kind === 'resistor') { out.counts = got.power_w; out.buy = roundedUp(Math.max(limits.powerMargin * share * got.power_w, share * got.sine_w / limits.shortOverload), limits.resistorW); }
  if (one.kind === 'capacitor') { out.counts = peakV; out.buy = roundedUp(limits.voltageMargin * share * peakV, limits.capacitorV); }
  if (one.kind === 'inductor' || one.kind === 'autoformer') { out.counts = peakA; out.buy = Math.max(Math.ceil(2 * limits.currentMargin * share * peakA) / 2, 0.5); }
  if (one.driver) { out.counts = got.power_w; }
  if (!bench.data.noise.stated) { out.buy = null; }
  // As a share of the rating that it has, or else of the one to buy.
  out.used = out.out ? null : out.rated ? out.counts / out.rated : out.buy ? share * out.counts / out.buy : null;
  return out;
}
function ratingUnit(kind) { return kind === 'capacitor' ? 'V' : kind === 'resistor' ? 'W' : 'A'; }
function ratingWords(kind, size) { return digits(size, 3) + ' ' + ratingUnit(kind); }
