// A measured table, or another design's page, dropped on this page: drawn over the computed curves.

// Rows of a text table: frequency in Hz, value, and phase if there is one. Lines that begin with no number are words;
// columns are parted by blanks, tabs, semicolons or commas, and a comma is a decimal one where numbers are parted by
// something else.
function tableRows(text, least) {
  var decimal = /\d,\d+[\s;]/.test(text) && !/\d\.\d/.test(text);
  var rows = [], wrong = null, last = 0;
  text.split(/\r?\n/).forEach(function (lineText, number) {
    var plain = lineText.trim();
    if (wrong || !/^[-+.\d]/.test(plain)) { return; }
    if (decimal) { plain = plain.replace(/(\d),(\d)/g, '$1.$2'); }
    var fields = plain.split(/[\s;,]+/).filter(Boolean).map(Number);
    if (fields.length < 2 && !rows.length) { return; }
    if (fields.length < 2 || !isFinite(fields[0]) || !isFinite(fields[1])) { wrong = 'line ' + (number + 1) + ' is no row of numbers'; return; }
    if (fields[0] === 0) { return; }
    if (fields[0] <= last) { wrong = 'line ' + (number + 1) + ': the frequencies must rise'; return; }
    last = fields[0];
    rows.push(fields);
  });
  if (!wrong && rows.length < least) { wrong = 'it has ' + rows.length + ' rows of numbers; at least ' + least + ' are needed'; }
  return wrong ? { wrong: wrong } : { f: rows.map(function (row) { return row[0]; }), values: rows.map(function (row) { return row[1]; }) };
}
// The table at the frequencies of the page: along straight lines in log-frequency (of an impedance in its logarithm).
function onGrid(table, logarithmic) {
  var k = 0;
  return Array.from(f, function (hz) {
    if (hz < table.f[0] || hz > table.f[table.f.length - 1]) { return NaN; }
    while (k < table.f.length - 2 && table.f[k + 1] < hz) { k += 1; }
    var share = Math.log(hz / table.f[k]) / Math.log(table.f[k + 1] / table.f[k]), a = table.values[k], b = table.values[k + 1];
    return logarithmic ? Math.exp(Math.log(a) * (1 - share) + Math.log(b) * share) : a * (1 - share) + b * share;
  });
}

function overlays(bench, say) {
  var laid = [];
  // Curves over a picture, and what they differ by in words.
  function lay(name, what, values) {
    var computed = what === 'load' ? bench.result.load.ohm : bench.result.sum, worst = 0, at = 0, sum = 0, count = 0;
    var difference = values.map(function (value, i) { return what === 'load' ? 100 * (value / computed[i] - 1) : value - computed[i]; });
    difference.forEach(function (value, i) {
      if (!isFinite(value)) { return; }
      sum += value; count += 1;
      if (Math.abs(value) > Math.abs(worst)) { worst = value; at = i; }
    });
    if (!count) { say(name + ' has nothing between 20 Hz and 20 kHz.'); return; }
    laid.push({ what: what, values: values, difference: difference, name: name });
    draw();
    var unit = what === 'load' ? ' %' : ' dB';
    say(name + ' less what is computed: ' + signed(sum / count, 1) + unit + ' in the mean, ' + signed(worst, 1) + unit + ' at ' + hertz(f[at]) + ' at most' + (what === 'load' ? '.' : ' (dotted in the close view).'));
  }
  function draw() {
    document.querySelectorAll('.overlay').forEach(function (old) { old.remove(); });
    pictures.forEach(function (svg) {
      laid.forEach(function (one) {
        var values = svg.dataset.chart === one.what ? one.values : svg.dataset.chart === 'sum' && one.what === 'response' ? one.difference : null;
        if (values) { svg.querySelector('g[clip-path]').appendChild(drawn('path', { 'class': 'curve overlay', d: line(svg, values, false) })); }
      });
    });
  }
  function guess(table) {
    var sorted = table.values.slice().sort(function (a, b) { return a - b; });
    // Loudspeakers are far above 55 dB where they are measured, and rarely above 55 ohm in the middle.
    return sorted[Math.floor(sorted.length / 2)] > 55 || sorted[0] <= 0 ? 'response' : 'load';
  }
  // Another design of the same drivers and parts, from its file: computed with the drivers of this page.
  function layDesign(name, text) {
    var all = bench.speaker.fresh(), found = {}, strange = [];
    text.slice(text.search(/^\s*\[parts/m)).split(/\r?\n/).forEach(function (row) {
      var entry = /^\s*(?:"((?:[^"\\]|\\.)*)"|([\w-]+))\s*=\s*\{(.*)\}/.exec(row);
      if (!entry) { return; }
      var one = bench.part(entry[1] || entry[2]);
      function field(key) { var known = new RegExp('(?:^|,)\\s*' + key + '\\s*=\\s*(?:"([^"]*)"|([^,{}\\s]+))').exec(entry[3]); return known ? known[1] || known[2] : null; }
      if (!one || (!one.driver && field(one.kind) === null && one.kind !== 'coupling')) { strange.push(entry[1] || entry[2]); return; }
      found[one.name] = true;
      if (one.driver) { all.inverted[bench.data.drivers.findIndex(function (d) { return d.name === one.driver; })] = field('inverted') === 'true'; return; }
      var value = one.kind === 'coupling' ? Number(field('factor')) : /^[\d.eE+-]+$/.test(field(one.kind)) ? Number(field(one.kind)) : parsed(one.kind, field(one.kind));
      var loss = field(one.kind === 'capacitor' ? 'esr' : 'dcr');
      if (!value) { strange.push(one.name); return; }
      all.value[one.at] = value;
      if (one.kind !== 'resistor' && one.kind !== 'coupling') { all.loss[one.at] = loss === null ? 0 : /^[\d.eE+-]+$/.test(loss) ? Number(loss) : parsed('resistor', loss) || 0; }
    });
    bench.data.parts.forEach(function (one) { if (!found[one.name]) { all.state[one.at] = 'out'; } });
    if (strange.length) { say(name + ' has parts that this network has not (' + strange.join(', ') + '): drop its page instead, which report writes.'); return; }
    var result = bench.speaker.compute(all);
    lay(name, 'load', Array.from(result.load.ohm));
    lay(name, 'response', Array.from(result.sum));
  }
  function take(file, over) {
    file.text().then(function (text) {
      if (/^\s*<!doctype html/i.test(text)) {
        var other = new DOMParser().parseFromString(text, 'text/html').getElementById('data');
        var page2 = other ? JSON.parse(other.textContent) : null, found = 0, their = null;
        if (page2 && page2.compute) {
          var speaker = loudspeaker(page2.compute), result = speaker.compute(speaker.fresh());
          their = { f: Array.from(result.f), response: result.sum, load: result.load.ohm };
        }
        ['response', 'load'].forEach(function (id) {
          if (their) { found += 1; lay(file.name, id, onGrid({ f: their.f, values: their[id] }, id === 'load')); }
        });
        if (!found) { say(file.name + ' is no page of a design.'); }
        return;
      }
      if (/^\s*\[parts[\].]/m.test(text)) { layDesign(file.name, text); return; }
      var table = tableRows(text, bench.data.least_rows);
      if (table.wrong) { say(file.name + ' cannot be laid over: ' + table.wrong + '.'); return; }
      var what = over || guess(table);
      lay(file.name, what, onGrid(table, what === 'load'));
    }).catch(function () { say(file.name + ' cannot be read.'); });
  }
  document.addEventListener('dragover', function (event) { event.preventDefault(); });
  document.addEventListener('drop', function (event) {
    if (!event.dataTransfer || !event.dataTransfer.files.length) { return; }
    event.preventDefault();
    var figure = event.target.closest ? event.target.closest('figure.curves') : null;
    var over = figure ? { response: 'response', sum: 'response', load: 'load' }[figure.id] : null;
    [].forEach.call(event.dataTransfer.files, function (file) { take(file, over); });
  });
  return { take: take, clear: function () { laid = []; draw(); say(''); } };
}
