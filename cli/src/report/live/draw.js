// The pictures: values under the pointer or the keys, and curves drawn anew.

var page = JSON.parse(document.getElementById('data').textContent);
var f = page.f || Array.from(decode(page.compute.audio.f_hz));
var pictures = [].slice.call(document.querySelectorAll('svg[data-chart]'));
var reading = -1;

function element(name, attributes, content) {
  var made = document.createElement(name);
  Object.keys(attributes || {}).forEach(function (key) { made.setAttribute(key, attributes[key]); });
  [].concat(content === undefined ? [] : content).forEach(function (child) {
    made.appendChild(typeof child === 'string' ? document.createTextNode(child) : child);
  });
  return made;
}
function drawn(name, attributes) {
  var made = document.createElementNS(pictures[0].namespaceURI, name);
  Object.keys(attributes).forEach(function (key) { made.setAttribute(key, attributes[key]); });
  return made;
}
function valueWords(value, unit) {
  if (value === null || !isFinite(value)) { return '–'; }
  var places = unit === '°' ? 0 : unit === 'dB' ? 1 : 2;
  var text = value.toFixed(places).replace('-', '−');
  return unit === '°' ? text + unit : text + ' ' + unit;
}
function geometry(svg) {
  if (svg.geometry) { return svg.geometry; }
  var d = svg.dataset;
  var scales = d.scales.split(',').map(function (text) { var s = text.split(' '); return { from: +s[0], to: +s[1], kind: s[2] }; });
  var g = { left: +d.left, right: +d.right, top: +d.top, bottom: +d.bottom, from: +d.from, to: +d.to, scales: scales, x: [], at: [] };
  // Of the frequencies of the page only as many as the picture can show: one for every two pixels.
  var stride = Math.max(1, Math.round(f.length * 2.2 / (g.right - g.left)));
  for (var i = 0; i < f.length; i += stride) { g.at.push(i); }
  if (g.at[g.at.length - 1] !== f.length - 1) { g.at.push(f.length - 1); }
  // In tenths.
  g.x = g.at.map(function (i) { return Math.round(10 * xOf(g, f[i])); });
  svg.geometry = g;
  return g;
}
function nearest(frequency) {
  var step = Math.log(f[f.length - 1] / f[0]) / (f.length - 1);
  return Math.max(0, Math.min(f.length - 1, Math.round(Math.log(frequency / f[0]) / step)));
}
function xOf(g, frequency) { return g.left + Math.log(frequency / g.from) / Math.log(g.to / g.from) * (g.right - g.left); }
// Lengths in tenths as text; the same few are written again and again.
var TENTHS = new Map();
function tenths(count) {
  var text = TENTHS.get(count);
  if (text === undefined) { TENTHS.set(count, text = String(count / 10).replace(/^(-?)0\./, '$1.')); }
  return text;
}
// From a value to its height in tenths.
function heightOf(g, scale) {
  var log = scale.kind === 'log', from = log ? Math.log(scale.from) : scale.from, span = (log ? Math.log(scale.to) : scale.to) - from;
  var high = 10 * (g.bottom - g.top), low = 10 * g.bottom, least = 1e-6 * scale.from;
  return function (value) {
    var share = ((log ? Math.log(value > least ? value : least) : value) - from) / span;
    // What leaves the plot is cut there; it need not go far.
    return Math.round(low - (share < -1 ? -1 : share > 2 ? 2 : share) * high);
  };
}

// A line through values at the page's frequencies, in steps from point to point; broken where a value is no number and where
// an angle wraps.
function line(svg, values, right) {
  var g = geometry(svg), scale = g.scales[right ? 1 : 0], height = heightOf(g, scale), turns = scale.kind === 'turn', turn = 0.5 * (scale.to - scale.from);
  var text = '', before = NaN, x = 0, y = 0, drawing = false;
  for (var k = 0; k < g.at.length; k += 1) {
    var value = values[g.at[k]];
    if (value === null || !isFinite(value)) { drawing = false; continue; }
    if (turns && Math.abs(value - before) > turn) { drawing = false; }
    var down = height(value);
    if (drawing) {
      text += tenths(g.x[k] - x) + (down < y ? '' : ' ') + tenths(down - y) + ' ';
    } else {
      text += 'M' + tenths(g.x[k]) + ' ' + tenths(down) + 'l';
    }
    drawing = true; before = value; x = g.x[k]; y = down;
  }
  return text;
}

// Reading of values.
function read(i) {
  reading = i;
  pictures.forEach(function (svg) {
    var mark = svg.querySelector('.cursor');
    if (i < 0) { if (mark) { mark.remove(); } return; }
    if (!mark) { mark = drawn('line', { 'class': 'cursor' }); svg.appendChild(mark); }
    var g = geometry(svg), x = xOf(g, f[i]);
    [['x1', x], ['x2', x], ['y1', g.top], ['y2', g.bottom]].forEach(function (pair) { mark.setAttribute(pair[0], pair[1]); });
  });
  document.querySelectorAll('.readout').forEach(function (readout) {
    readout.textContent = '';
    if (i < 0) { return; }
    readout.appendChild(element('b', {}, hertz(f[i]) + ' '));
    takeValues(readout.dataset.chart);
    (page.charts[readout.dataset.chart] || []).forEach(function (curve) {
      readout.appendChild(element('span', {}, curve.name + ' ' + valueWords(curve.values[i], curve.unit)));
      readout.appendChild(document.createTextNode(' '));
    });
  });
}
function under(svg, event) {
  var box = svg.getBoundingClientRect(), g = geometry(svg);
  var x = (event.clientX - box.left) * svg.viewBox.baseVal.width / box.width;
  return nearest(g.from * Math.pow(g.to / g.from, Math.max(0, Math.min(1, (x - g.left) / (g.right - g.left)))));
}
function readingKeys(event) {
  var step = event.shiftKey ? 20 : 1, now = reading < 0 ? nearest(1000) : reading;
  switch (event.key) {
    case 'ArrowRight': read(Math.min(f.length - 1, now + step)); break;
    case 'ArrowLeft': read(Math.max(0, now - step)); break;
    case 'Home': read(0); break;
    case 'End': read(f.length - 1); break;
    case 'Escape': read(-1); break;
    default: return;
  }
  event.preventDefault();
}
document.querySelectorAll('figure.curves').forEach(function (figure, number) {
  var heading = figure.querySelector('h3').textContent;
  var hint = number > 0 ? '' : 'Point at the curves, or move with the arrow keys, to read values.';
  // Values stand over what is there, so that reading moves nothing.
  var readout = element('p', { 'class': 'readout', 'data-chart': figure.id });
  figure.appendChild(element('div', { 'class': 'reads' }, (hint ? [element('p', { 'class': 'hint' }, hint)] : []).concat([readout])));
  figure.tabIndex = 0;
  figure.setAttribute('role', 'group');
  figure.addEventListener('keydown', readingKeys);
  figure.addEventListener('focus', function () { readout.setAttribute('aria-live', 'polite'); if (reading < 0) { read(nearest(1000)); } });
  figure.addEventListener('blur', function () { readout.removeAttribute('aria-live'); read(-1); });
  figure.setAttribute('aria-label', heading + ': arrow keys move along the curves');
  figure.removeAttribute('aria-labelledby');
});
pictures.forEach(function (svg) {
  svg.addEventListener('pointermove', function (event) { read(under(svg, event)); });
  svg.addEventListener('pointerdown', function (event) { read(under(svg, event)); });
  // A finger that is lifted leaves the values to be read; a pointer that goes away takes them along.
  svg.addEventListener('pointerleave', function (event) { if (event.pointerType === 'mouse') { read(-1); } });
});
document.addEventListener('pointerdown', function (event) {
  if (reading >= 0 && event.target.closest && !event.target.closest('figure.curves')) { read(-1); }
});

// Curves that change. Only pictures in sight are worked out and drawn; the others when they come into sight.
var inSight = new Set(), stale = new Set(), fresh = null, taken = {};
function takeValues(id) {
  if (taken[id] === fresh) { return; }
  taken[id] = fresh;
  var now = fresh && fresh[id] ? fresh[id]() : {};
  (page.charts[id] || []).forEach(function (curve) {
    if (curve.asDesigned === undefined) { curve.asDesigned = curve.values; }
    curve.values = now[curve.key] || curve.asDesigned;
  });
}
function redrawOne(svg) {
  stale.delete(svg);
  takeValues(svg.dataset.chart);
  describe(svg);
  var g = geometry(svg), lines = g.lines || (g.lines = curvesIn(svg));
  lines.forEach(function (one) {
    var now = fresh ? line(svg, one.curve.values, one.curve.right) : one.asDesigned;
    if (one.now !== now) { one.now = now; one.path.setAttribute('d', now); }
  });
  if (!fresh && g.ghost) { g.ghost.remove(); g.ghost = null; }
  if (fresh && !g.ghost && lines.length) {
    // All that is thin and grey in one path.
    var design = lines.map(function (one) { return line(svg, one.curve.asDesigned, one.curve.right); }).join('');
    g.ghost = lines[0].path.parentNode.insertBefore(drawn('path', { 'class': 'curve asdrawn', d: design }), lines[0].path.parentNode.firstChild);
  }
}
// The curves of a picture that change.
function curvesIn(svg) {
  return (page.charts[svg.dataset.chart] || []).map(function (curve) {
    var path = svg.querySelector('[data-curve="' + curve.curve + '"]');
    return path && { curve: curve, path: path, asDesigned: path.getAttribute('d'), now: path.getAttribute('d') };
  }).filter(Boolean);
}
// What is told of a picture to who cannot see it.
function describe(svg) {
  var text = svg.querySelector('desc');
  if (!text || !(page.charts[svg.dataset.chart] || []).length) { return; }
  if (text.asDesigned === undefined) { text.asDesigned = text.textContent; }
  var words = fresh ? 'With changed values; the figures and the table of the curves tell them.' : text.asDesigned;
  if (text.textContent !== words) { text.textContent = words; }
}
var watcher = 'IntersectionObserver' in window ? new IntersectionObserver(function (seen) {
  seen.forEach(function (one) {
    if (one.isIntersecting) { inSight.add(one.target); if (stale.has(one.target)) { redrawOne(one.target); } } else { inSight.delete(one.target); }
  });
}, { rootMargin: '100px' }) : null;
pictures.forEach(function (svg) { if (watcher) { watcher.observe(svg); } else { inSight.add(svg); } });
// `values` by picture: what gives its curves as they are now, or nothing for those of the design.
function redraw(values) {
  fresh = values;
  pictures.forEach(function (svg) { if (inSight.has(svg)) { redrawOne(svg); } else { stale.add(svg); } });
  if (reading >= 0) { read(reading); }
}
window.addEventListener('beforeprint', function () { read(-1); stale.forEach(redrawOne); });
