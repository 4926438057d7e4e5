// Puts the controls on the page, where it has what they compute with.

// Boxes that are ticked stay ticked, also those that are made later.
var ticks = keeper('handover ' + (page.compute ? page.compute.file : document.title) + ' ').get('ticks') || {};
function tick(root) {
  root.querySelectorAll('input[data-keep]').forEach(function (box) { box.checked = ticks[box.dataset.keep] === true; });
}
function keepTicks() {
  tick(document);
  document.addEventListener('change', function (event) {
    if (!event.target.dataset || !event.target.dataset.keep) { return; }
    ticks[event.target.dataset.keep] = event.target.checked;
    keeper('handover ' + (page.compute ? page.compute.file : document.title) + ' ').set('ticks', ticks);
  });
}

// Asks for work that can wait until values have rested for a while; a page that is printed or left, and whoever asks, has
// it at once.
function whenResting(work, milliseconds) {
  var waits = null;
  function done() { if (waits !== null) { clearTimeout(waits); waits = null; work(); } }
  function wait() { clearTimeout(waits); waits = setTimeout(done, milliseconds); }
  window.addEventListener('beforeprint', done);
  window.addEventListener('pagehide', done);
  return {
    // The time that the frame itself takes is no rest.
    ask: function () { wait(); requestAnimationFrame(function () { if (waits !== null) { wait(); } }); },
    now: done
  };
}

function undoKeys(bench) {
  document.addEventListener('keydown', function (event) {
    // In a field the keys are the field's own.
    if (!(event.ctrlKey || event.metaKey) || event.altKey || /^(INPUT|TEXTAREA)$/.test(event.target.tagName)) { return; }
    var key = event.key.toLowerCase();
    if (key === 'z' && !event.shiftKey) { bench.undo(); event.preventDefault(); }
    if (key === 'y' || (key === 'z' && event.shiftKey)) { bench.redo(); event.preventDefault(); }
  });
}

// A file that the browser keeps where it keeps what is loaded from elsewhere.
function saveFile(bench) {
  var data = bench.data, name = data.file.replace(/(\.[^.]*)?$/, '-changed$1');
  var link = element('a', { href: URL.createObjectURL(new Blob([bench.file()], { type: 'text/plain' })), download: name });
  document.body.appendChild(link);
  link.click();
  link.remove();
  setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  bench.say(name + ' is saved. Put it beside ' + data.file + ', where its tables are; then: handover report ' + name);
}

function layOver(bench, place) {
  var over = overlays(bench, bench.say), pick = element('input', { type: 'file', id: 'over-file', 'class': 'hidden-file', multiple: '' });
  pick.addEventListener('change', function () { [].forEach.call(pick.files, function (file) { over.take(file, null); }); pick.value = ''; });
  place.appendChild(element('p', { 'class': 'lay' }, [
    element('label', { 'for': 'over-file', 'class': 'button' }, 'Lay a measurement over'), pick, ' ', button('Take it off', '', over.clear),
    element('span', { 'class': 'quiet' }, ' A table of impedance or level, or another design’s page or file, may also be dropped on a picture.')
  ]));
}

function controls(data) {
  var parts = data.parts.filter(function (one) { return one.at !== null; });
  if (!parts.length) { return; }
  var shows = [], soon = [], later = [], status = element('p', { 'class': 'said', role: 'status' }, '');
  // What is looked at while a value moves is shown at once: curves, the bar, the drawing, the part. Words and figures of the first
  // screen come as soon as values rest, what stands further down a little later.
  function showAll(list) { list.forEach(function (show) { show(bench.result); }); }
  var next = whenResting(function () { showAll(soon); bench.keep(); }, 40);
  var rest = whenResting(function () { showAll(later); }, 150);
  // While values move the browser leaves out what is not in sight.
  var moving = document.documentElement.classList;
  later.push(function () { moving.remove('is-moving'); });
  var bench = workbench(data, function () {
    moving.add('is-moving');
    moving.toggle('is-changed', bench.changed);
    showAll(shows);
    next.ask();
    rest.ask();
  });
  bench.say = function (words) { status.textContent = words; };
  // For whoever looks at the page with the browser's tools, and for the tests.
  window.handoverBench = bench;
  var section = document.getElementById('change'), place = section.querySelector('.content');
  var links = document.querySelector('nav');
  if (links) { links.insertBefore(element('a', { href: '#change' }, 'Change a value'), links.firstChild); links.insertBefore(document.createTextNode(' '), links.childNodes[1]); }
  section.hidden = false;
  place.appendChild(element('p', {}, 'Change any part here or in the bar below: curves, load, heat and figures follow at once. A thin grey line stays where the design is. '
    + 'Steps are the values of the stock, with the loss and the rating that belong to each.'));
  padSteps(bench, place);
  var bar = benchBar(bench, parts, status, function () { saveFile(bench); });
  var table = partsTable(bench, parts, place);
  shows.push(bar.show, table.fields, drawings(bench, bar.choose));
  soon.push(pageFigures(bench));
  later.push(table, cautionList(bench), leafTables(bench), buyingLists(bench), stressTables(bench), labelWords(bench), curveTable(bench), staleSections(bench));
  layOver(bench, place);
  undoKeys(bench);
  bench.finish = function () { next.now(); rest.now(); };
  bench.begin();
  bench.finish();
}

keepTicks();
if (page.compute) { controls(page.compute); }
