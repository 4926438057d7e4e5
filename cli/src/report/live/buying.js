// The shopping list and the list by names, made anew for what is changed, as the program makes them
// (cli/src/report/purchase.rs).

// Lines of a part as it is now; a changed one is a single piece of the stock, if the stock has it.
function linesOf(bench, one, result) {
  var is = bench.now(one.name), piece = bench.piece(one), got = strain(bench, one, result), lines = one.lines;
  if (is.state || !lines.length) { return []; }
  if (piece || is.ratio !== bench.designed(one).ratio) {
    lines = [Object.assign({}, lines[0], { parts: [one.name], value: shown(one.kind, is.value), si: is.value })];
    if (one.kind === 'autoformer') { lines[0].value += ', taps at ' + one.taps.map(function (tap, k) { return tapWords(k === 0 ? is.ratio : tap[1]); }).join(', '); }
    if (piece) {
      Object.assign(lines[0], { sold: piece.rated, item: piece.item, price: piece.price, tolerance: piece.tolerance || lines[0].tolerance });
      lines[0].loss = one.kind === 'resistor' || !is.loss ? null : is.loss.toFixed(is.loss < 10 ? 2 : 1) + ' Ω';
    }
  }
  return lines.map(function (line) { return Object.assign({ kind: one.kind, least: got.buy }, line); });
}
function neededWords(line) {
  var sold = line.sold, least = line.least;
  if (sold && least && sold < least) { return ratingWords(line.kind, least) + ', not the stock’s ' + ratingWords(line.kind, sold); }
  if (sold) { return ratingWords(line.kind, sold); }
  return least ? ratingWords(line.kind, least) + (line.kind === 'inductor' ? ' if cored' : '') : '–';
}
// Lines that are alike in some fields, put together.
function together(lines, fields, join) {
  var found = [];
  lines.forEach(function (line) {
    var other = found.find(function (one) { return fields.every(function (field) { return one[field] === line[field]; }); });
    if (other) { join(other, line); } else { found.push(Object.assign({}, line, { parts: line.parts.slice() })); }
  });
  return found;
}
function larger(a, b) { return a === null || a === undefined ? b : b === null || b === undefined ? a : Math.max(a, b); }

function buyingLists(bench) {
  var shopping = document.querySelector('table.shopping'), byName = document.querySelector('table.parts');
  if (!shopping || !byName) { return function () {}; }
  var was = [shopping.innerHTML, byName.innerHTML], live = false;
  function heads(table) { return [].map.call(table.tHead.rows[0].cells, function (cell) { return [cell.dataset.column, cell.className]; }); }
  function fill(table, lines, cellsOf) {
    var columns = heads(table), body = element('tbody');
    lines.forEach(function (line) {
      var cells = cellsOf(line);
      body.appendChild(element('tr', {}, columns.map(function (column) {
        var head = column[0] === 'what' && table === shopping || column[0] === 'for';
        return element(head ? 'th' : 'td', head ? { scope: 'row', 'class': column[1] } : { 'class': column[1] }, column[0] === 'value' ? amount(cells.value) : cells[column[0]] === undefined ? '–' : cells[column[0]]);
      })));
    });
    table.replaceChild(body, table.tBodies[0]);
  }
  function money(price) { return price === null || price === undefined ? '–' : price.toFixed(2); }
  return function (result) {
    if (!bench.changed) {
      if (live) { shopping.innerHTML = was[0]; byName.innerHTML = was[1]; live = false; tick(document); }
      return;
    }
    live = true;
    var all = [].concat.apply([], bench.data.parts.map(function (one) { return linesOf(bench, one, result); }));
    all.forEach(function (line) { line.words = neededWords(line); });
    var pieces = all.reduce(function (sum, line) { return sum + line.parts.length; }, 0);
    var lines = together(all, ['what', 'value', 'tolerance', 'loss', 'words', 'item', 'price'], function (one, more) { one.parts = one.parts.concat(more.parts); });
    var order = ['resistor', 'capacitor', 'inductor'];
    var items = together(all, ['what', 'value', 'item'], function (one, more) {
      one.parts = one.parts.concat(more.parts);
      one.least = larger(one.least, more.least); one.sold = larger(one.sold, more.sold);
    }).sort(function (a, b) { return order.indexOf(a.what) - order.indexOf(b.what) || a.si - b.si; });
    fill(shopping, items, function (item) {
      var label = item.what + ' ' + item.value;
      return { pieces: String(2 * item.parts.length), what: item.what, value: item.value, rating: neededWords(item), item: item.item || '–',
        price: item.price === null ? '–' : money(2 * item.parts.length * item.price),
        got: [element('input', { type: 'checkbox', 'data-keep': 'got ' + label + ' ' + (item.item || ''), 'aria-label': 'got ' + label })] };
    });
    fill(byName, lines, function (line) {
      return { 'for': line.parts.join(', '), value: line.value, rating: line.words, each: String(line.parts.length), tolerance: line.tolerance || '–',
        loss: line.loss || '–', what: line.what, price: money(line.price) };
    });
    write(shopping.caption.firstChild, 'Shopping list for a pair: ' + 2 * pieces + ' pieces, as changed');
    write(byName.caption.firstChild, 'By their names in the drawing: ' + pieces + ' pieces for one loudspeaker, as changed');
    if (shopping.tFoot) {
      var sum = 0, unknown = 0;
      lines.forEach(function (line) { if (line.price === null || line.price === undefined) { unknown += line.parts.length; } else { sum += line.parts.length * line.price; } });
      var row = shopping.tFoot.rows[0], name = row.querySelector('th'), small = name.querySelector('small');
      write(row.querySelector('td.number'), (2 * sum).toFixed(2));
      if (!small) { small = name.appendChild(element('small')); }
      write(small, unknown ? 'without ' + 2 * unknown + ' pieces of unknown price' : '');
    }
    tick(shopping);
  };
}
