// The design file with the changed values: its text with other tables in the places of the changed parts, and comments
// and all else as they were.

// What stands for a part that is bridged, and for a driver that nothing leads to any more.
var BRIDGE = '0.1 mohm', NEXT_TO_NOTHING = '1 Gohm';
// As another piece a part is not what was said of the old one.
var OF_THE_PIECE = ['made_of', 'power', 'voltage', 'current'];

function designFile(bench) {
  var save = bench.data.save, gone = takenOut(bench), more = leftOpen(bench, gone);
  var wound = coupledBranches(bench), tables = {};
  bench.data.parts.forEach(function (one) { tables[one.name] = fieldsOf(bench, one, wound, more); });
  return save.form === 'json' ? asJson(bench, tables, gone, more) : asToml(bench, tables, gone, more);
}

// Branches of coils that are coupled to others.
function coupledBranches(bench) {
  var coupled = {};
  bench.data.parts.forEach(function (one) {
    if (one.kind === 'coupling') { bench.data.plan.parts[one.at].forEach(function (branch) { coupled[branch] = true; }); }
  });
  return coupled;
}
// Names of the two coils of a coupling, as its table says them.
function coilsOf(bench, coupling) {
  var save = bench.data.save, list = /\[([^\]]*)\]/.exec(save.tables[save.names.indexOf(coupling.name)]);
  return (list ? list[1].match(/"[^"]*"/g) || [] : []).map(function (text) { return JSON.parse(text); });
}

// Parts that are taken out, and with them couplings of such coils and what hangs on by one end: nothing flows in it.
function takenOut(bench) {
  var gone = {}, grows = true;
  bench.data.parts.forEach(function (one) { if (bench.now(one.name).state === 'out') { gone[one.name] = true; } });
  while (grows) {
    grows = false;
    var ends = {};
    bench.data.parts.forEach(function (one) {
      if (!gone[one.name]) { one.nodes.forEach(function (node) { ends[node] = (ends[node] || 0) + 1; }); }
    });
    bench.data.parts.forEach(function (one) {
      if (gone[one.name]) { return; }
      var uncoupled = one.kind === 'coupling' && coilsOf(bench, one).some(function (coil) { return gone[coil]; });
      var loose = one.nodes.some(function (node) { return node !== 'in' && node !== 'gnd' && ends[node] < 2; });
      if (uncoupled || (loose && !one.driver && one.kind !== 'autoformer')) { gone[one.name] = true; grows = true; }
    });
  }
  return gone;
}

// A driver that nothing leads to hangs on next to nothing, so that the file is one of a network.
function leftOpen(bench, gone) {
  var reached = { 'in': true }, grows = true, more = [];
  while (grows) {
    grows = false;
    bench.data.parts.forEach(function (one) {
      if (gone[one.name] || !one.nodes.some(function (node) { return reached[node]; })) { return; }
      one.nodes.forEach(function (node) { if (node !== 'gnd' && !reached[node]) { reached[node] = true; grows = true; } });
    });
  }
  bench.data.parts.forEach(function (one) {
    if (gone[one.name] || !one.driver || one.nodes.some(function (node) { return reached[node]; })) { return; }
    var node = one.nodes[0] === 'gnd' ? one.nodes[1] : one.nodes[0];
    more.push([node + ' left open', { resistor: NEXT_TO_NOTHING, between: ['in', node] }]);
    reached[node] = true;
  });
  return more;
}

// Fields of a part that are otherwise than in the design; a whole table with `between` for one that is replaced.
function fieldsOf(bench, one, wound, more) {
  var is = bench.now(one.name), mine = bench.changes()[one.name] || {}, out = {};
  if (is.state === 'short') {
    // A coil that is coupled, or a winding, stays with the bridge across it: the others feel it.
    var stays = one.kind === 'autoformer' || bench.data.plan.parts[one.at].some(function (branch) { return wound[branch]; });
    if (!stays) { return { resistor: BRIDGE, between: one.nodes }; }
    more.push([one.name + ' bridged', { resistor: BRIDGE, between: [one.nodes[0], one.nodes[1]] }]);
  }
  if (mine.value !== undefined) { out[one.kind === 'coupling' ? 'factor' : one.kind] = one.kind === 'coupling' ? mine.value : inFile(one.kind, mine.value); }
  if (mine.loss !== undefined && one.kind !== 'resistor' && one.kind !== 'coupling') {
    out[one.kind === 'capacitor' ? 'esr' : 'dcr'] = String(Number(mine.loss.toPrecision(12))) + ' ohm';
  }
  if (mine.inverted !== undefined) { out.inverted = mine.inverted; }
  if (mine.ratio !== undefined) { out.tap = mine.ratio; }
  return out;
}

function asJson(bench, tables, gone, more) {
  var save = bench.data.save;
  var whole = JSON.parse(save.between.reduce(function (text, piece, k) { return text + piece + (save.tables[k] || ''); }, ''));
  bench.data.parts.forEach(function (one) {
    var out = tables[one.name], table = whole.parts[one.name];
    if (gone[one.name]) { delete whole.parts[one.name]; return; }
    if (out.between) { whole.parts[one.name] = out; return; }
    if (out.tap !== undefined) { table.taps[one.taps[0][0]] = out.tap; delete out.tap; }
    if (out[one.kind] !== undefined) { OF_THE_PIECE.forEach(function (key) { delete table[key]; }); }
    Object.assign(table, out);
  });
  more.forEach(function (extra) { whole.parts[extra[0]] = extra[1]; });
  return JSON.stringify(whole, null, 2) + '\n';
}

function asToml(bench, tables, gone, more) {
  var save = bench.data.save, text = save.between[0];
  save.names.forEach(function (name, k) {
    var rest = save.between[k + 1];
    if (gone[name]) {
      // The line stays as a comment.
      var at = text.lastIndexOf('\n') + 1;
      text = text.slice(0, at) + '# taken out: ' + text.slice(at) + save.tables[k];
    } else { text += tomlTable(bench.part(name), save.tables[k], tables[name]); }
    // Parts that were not there come behind the last one.
    if (k === save.names.length - 1 && more.length) {
      var end = rest.indexOf('\n') < 0 ? rest.length : rest.indexOf('\n');
      rest = rest.slice(0, end) + more.map(function (extra) { return '\n' + JSON.stringify(extra[0]) + ' = ' + tomlWhole(extra[1]); }).join('') + rest.slice(end);
    }
    text += rest;
  });
  return text;
}
function tomlValue(value) {
  return typeof value === 'object' ? '[' + value.map(function (one) { return JSON.stringify(one); }).join(', ') + ']'
    : typeof value === 'string' ? JSON.stringify(value) : String(value);
}
function tomlWhole(fields) {
  return '{ ' + Object.keys(fields).map(function (key) { return key + ' = ' + tomlValue(fields[key]); }).join(', ') + ' }';
}
// A table as it was written with some of its fields otherwise.
function tomlTable(one, written, fields) {
  if (fields.between) { return tomlWhole(fields); }
  if (fields[one.kind] !== undefined) {
    OF_THE_PIECE.forEach(function (key) {
      written = written.replace(new RegExp(',\\s*' + key + '\\s*=\\s*(\\{[^}]*\\}|"[^"]*"|[^,{}\\s]+)'), '');
    });
  }
  Object.keys(fields).forEach(function (key) {
    if (key === 'tap') {
      var node = one.taps[0][0].replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
      written = written.replace(new RegExp('((?:"' + node + '"|' + node + ')\\s*=\\s*)[0-9.eE+-]+'), function (all, start) { return start + fields.tap; });
      return;
    }
    var known = new RegExp('(^\\{|,)(\\s*)' + key + '\\s*=\\s*("[^"]*"|[^,{}\\s]+)');
    written = known.test(written)
      ? written.replace(known, function (all, start, space) { return start + space + key + ' = ' + tomlValue(fields[key]); })
      : written.replace(/\s*\}$/, ', ' + key + ' = ' + tomlValue(fields[key]) + ' }');
  });
  return written;
}
