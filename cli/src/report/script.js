// Values under the pointer or the keys. The page says all it has to say without this.
(function () {
  'use strict';
  var data = JSON.parse(document.getElementById('data').textContent);
  var f = data.f;
  var pictures = [].slice.call(document.querySelectorAll('svg[data-chart]'));
  var at = -1;

  function hertz(value) {
    return value < 1000 ? Number(value.toPrecision(3)) + ' Hz' : Number((value / 1000).toPrecision(3)) + ' kHz';
  }
  function number(value, unit) {
    if (value === null) { return '\u2013'; }
    var digits = unit === '\u00b0' ? 0 : unit === 'dB' ? 1 : 2;
    var text = value.toFixed(digits).replace('-', '\u2212');
    return unit === '\u00b0' ? text + unit : text + ' ' + unit;
  }
  function geometry(svg) {
    var d = svg.dataset;
    return { left: +d.left, right: +d.right, top: +d.top, bottom: +d.bottom, from: +d.from, to: +d.to };
  }
  function nearest(frequency) {
    var step = Math.log(f[f.length - 1] / f[0]) / (f.length - 1);
    var i = Math.round(Math.log(frequency / f[0]) / step);
    return Math.max(0, Math.min(f.length - 1, i));
  }
  function show(i) {
    at = i;
    pictures.forEach(function (svg) {
      var line = svg.querySelector('.cursor');
      if (i < 0) { if (line) { line.remove(); } return; }
      if (!line) {
        line = document.createElementNS(svg.namespaceURI, 'line');
        line.setAttribute('class', 'cursor');
        svg.appendChild(line);
      }
      var g = geometry(svg);
      var x = g.left + Math.log(f[i] / g.from) / Math.log(g.to / g.from) * (g.right - g.left);
      line.setAttribute('x1', x); line.setAttribute('x2', x);
      line.setAttribute('y1', g.top); line.setAttribute('y2', g.bottom);
    });
    document.querySelectorAll('.readout').forEach(function (readout) {
      var curves = data.charts[readout.dataset.chart];
      readout.textContent = '';
      if (i < 0) { readout.textContent = readout.dataset.hint; return; }
      var head = document.createElement('b');
      head.textContent = hertz(f[i]) + ' ';
      readout.appendChild(head);
      curves.forEach(function (curve) {
        var span = document.createElement('span');
        span.textContent = curve.name + ' ' + number(curve.values[i], curve.unit);
        readout.appendChild(span);
        readout.appendChild(document.createTextNode(' '));
      });
    });
  }
  function under(svg, event) {
    var box = svg.getBoundingClientRect();
    var g = geometry(svg);
    var x = (event.clientX - box.left) * svg.viewBox.baseVal.width / box.width;
    var share = Math.max(0, Math.min(1, (x - g.left) / (g.right - g.left)));
    return nearest(g.from * Math.pow(g.to / g.from, share));
  }
  function keys(event) {
    var step = event.shiftKey ? 20 : 1;
    var now = at < 0 ? nearest(1000) : at;
    switch (event.key) {
      case 'ArrowRight': show(Math.min(f.length - 1, now + step)); break;
      case 'ArrowLeft': show(Math.max(0, now - step)); break;
      case 'Home': show(0); break;
      case 'End': show(f.length - 1); break;
      case 'Escape': show(-1); break;
      default: return;
    }
    event.preventDefault();
  }

  document.querySelectorAll('figure.curves').forEach(function (figure, number) {
    var heading = figure.querySelector('h3').textContent;
    var readout = document.createElement('p');
    readout.className = 'readout';
    readout.dataset.chart = figure.id;
    readout.dataset.hint = number > 0 ? '' : 'Point at the curves, or move with the arrow keys, to read values.';
    readout.textContent = readout.dataset.hint;
    figure.appendChild(readout);
    figure.tabIndex = 0;
    figure.addEventListener('keydown', keys);
    figure.addEventListener('focus', function () {
      readout.setAttribute('aria-live', 'polite');
      if (at < 0) { show(nearest(1000)); }
    });
    figure.addEventListener('blur', function () { readout.removeAttribute('aria-live'); });
    figure.setAttribute('aria-label', heading + ': arrow keys move along the curves');
    figure.removeAttribute('aria-labelledby');
  });
  pictures.forEach(function (svg) {
    svg.addEventListener('pointermove', function (event) { show(under(svg, event)); });
    svg.addEventListener('pointerdown', function (event) { show(under(svg, event)); });
  });
}());
