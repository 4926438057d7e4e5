// The bar that stays in sight: one part, and the figures.

// What a result and the design have in figures: name, now, then, digits, unit.
function figuresOf(result, design) {
  var a = result.figures, b = design.figures, list = [];
  if (a) { list.push(['level', a.level_db, b.level_db, 1, ' dB'], ['flat', a.rms_db, b.rms_db, 2, ' dB'], ['most', a.max_db, b.max_db, 2, ' dB']); }
  if (result.least && design.least) { list.push(['load', result.least.ohm, design.least.ohm, 2, ' Ω'], ['epdr', result.heats.value, design.heats.value, 2, ' Ω']); }
  return list;
}

function benchBar(bench, parts, status, save) {
  var chosen = bench.kept.get('chosen'), bar = element('aside', { 'class': 'bench', 'aria-label': 'Bench bar' });
  if (!parts.some(function (one) { return one.name === chosen; })) { chosen = parts[0].name; }
  var part = choice('Part', parts.map(function (one) { return [one.name, one.name]; }), choose);
  var value = valueField(bench, function () { return chosen; }, 'In the bar: ');
  var down = button('−', 'One step down', function () { bench.step(chosen, false); });
  var up = button('+', 'One step up', function () { bench.step(chosen, true); });
  var state = stateField(bench, chosen, 'State of ' + chosen);
  var undo = button('Undo', '', bench.undo), redo = button('Redo', '', bench.redo);
  var reset = button('Reset', 'Reset: back to the design', bench.reset), keep = button('Save', 'Save as design file', save);
  var figures = element('p', { 'class': 'now' });
  var folder = button('▾', 'Fold the bar', function () { fold(!bar.classList.contains('folded')); });
  bar.appendChild(element('div', { 'class': 'tools' }, [
    element('span', {}, [part, down, value, up, state]), element('span', {}, [undo, redo, reset].concat(bench.data.save ? [keep] : []))
  ]));
  [figures, status, folder].forEach(function (one) { bar.appendChild(one); });
  document.body.appendChild(bar);
  document.documentElement.classList.add('has-bench');
  part.value = chosen;
  fold(bench.kept.get('folded') === true);

  function fold(folded) {
    bar.classList.toggle('folded', folded);
    folder.textContent = folded ? '▴ Change a value' : '▾';
    folder.setAttribute('aria-label', folded ? 'Change a value' : 'Fold the bar');
    folder.setAttribute('aria-expanded', String(!folded));
    bench.kept.set('folded', folded);
  }
  function choose(name) {
    chosen = name;
    bench.kept.set('chosen', name);
    part.value = name;
    var field = stateField(bench, name, 'State of ' + name);
    state.replaceWith(field);
    state = field;
    fill();
  }
  function fill() {
    var one = bench.part(chosen), stepped = isStepped(bench, one);
    value.fill(); state.fill();
    down.disabled = !stepped || bench.next(one, false) === null; up.disabled = !stepped || bench.next(one, true) === null;
    undo.disabled = !bench.canUndo(); redo.disabled = !bench.canRedo(); reset.disabled = !bench.changed;
  }
  var WORDS = { level: '', flat: 'rms ', most: 'most ', load: 'least ', epdr: 'EPDR ' };
  return {
    choose: function (name) { choose(name); fold(false); },
    show: function (result) {
      figuresOf(result, bench.design).forEach(function (one, k) {
        var now = one[1].toFixed(one[3]), mark = now === one[2].toFixed(one[3]) ? '' : one[1] > one[2] ? ' ▲' : ' ▼';
        var worse = one[0] === 'flat' || one[0] === 'most' ? one[1] > one[2] : one[1] < one[2];
        if (!figures.children[k]) { figures.appendChild(element('span')); figures.appendChild(document.createTextNode(' ')); }
        figures.children[k].className = mark ? worse ? 'worse' : 'better' : '';
        write(figures.children[k], WORDS[one[0]] + now + one[4] + mark);
      });
      fill();
    }
  };
}
