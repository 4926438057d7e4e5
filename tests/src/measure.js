var found = {
  width: innerWidth, content_width: document.documentElement.scrollWidth, wrong: window.wrong,
  pictures: 0, texts: 0, overlaps: [], outside: [], smallest_text: 1000, readout: '', cursors: 0, cells: 0, spilt: [], unnamed: [], twice: [], faint: [], small_targets: []
};
var shown = [].filter.call(document.querySelectorAll('svg'), function (svg) {
  return svg.getBoundingClientRect().width > 0;
});
found.pictures = shown.length;
shown.forEach(function (svg) {
  var frame = svg.getBoundingClientRect();
  var texts = [].filter.call(svg.querySelectorAll('text'), function (text) { return text.textContent; });
  var boxes = texts.map(function (text) { return text.getBoundingClientRect(); });
  found.texts += texts.length;
  texts.forEach(function (text, i) {
    var a = boxes[i], name = svg.id + ': ' + text.textContent;
    found.smallest_text = Math.min(found.smallest_text, a.height);
    if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1 || a.bottom > frame.bottom + 1) {
      found.outside.push(name);
    }
    for (var j = 0; j < i; j += 1) {
      var b = boxes[j];
      // A pixel of empty edge is no overlap.
      if (a.left + 1 < b.right - 1 && b.left + 1 < a.right - 1 && a.top + 1 < b.bottom - 1 && b.top + 1 < a.bottom - 1) {
        found.overlaps.push(name + ' over ' + texts[j].textContent);
      }
    }
  });
});
lookOver(found);
var figure = document.querySelector('figure.curves');
if (figure) {
  figure.focus();
  figure.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', bubbles: true, cancelable: true }));
  var readout = figure.querySelector('.readout');
  found.readout = readout ? readout.textContent : '';
  shown.forEach(function (svg) { found.cursors += svg.querySelectorAll('.cursor').length; });
}
return found;

// Tables whose texts stay in their cells; controls with a name and room for a finger; landmarks and ids told apart;
// text that stands out from its paper (WCAG 2.2: 4.1.2, 2.5.8, 1.4.3).
function lookOver(found) {
  function visible(node) { var box = node.getBoundingClientRect(); return box.width > 1 && box.height > 1 && getComputedStyle(node).visibility !== 'hidden'; }
  function named(node) {
    var by = (node.getAttribute('aria-labelledby') || '').split(' ').map(function (id) { var one = document.getElementById(id); return one ? one.textContent : ''; }).join('');
    var label = node.id && document.querySelector('label[for="' + node.id + '"]');
    return (node.getAttribute('aria-label') || by || (label ? label.textContent : '') || (/^(BUTTON|A|SUMMARY)$/.test(node.tagName) ? node.textContent : '')).trim();
  }
  document.querySelectorAll('td, th').forEach(function (cell) {
    if (!visible(cell) || !cell.textContent.trim()) { return; }
    found.cells += 1;
    var range = document.createRange();
    range.selectNodeContents(cell);
    var text = range.getBoundingClientRect(), box = cell.getBoundingClientRect();
    if (text.left < box.left - 1.5 || text.right > box.right + 1.5) { found.spilt.push(cell.textContent.slice(0, 60)); }
  });
  document.querySelectorAll('button, select, input, a[href], summary, [tabindex]').forEach(function (control) {
    if (!visible(control)) { return; }
    if (!named(control)) { found.unnamed.push(control.outerHTML.slice(0, 80)); }
    if (+control.getAttribute('tabindex') > 0) { found.unnamed.push('out of order: ' + control.outerHTML.slice(0, 80)); }
    var box = control.getBoundingClientRect();
    if (/^(BUTTON|SELECT)$/.test(control.tagName) && (box.width < 24 || box.height < 24)) { found.small_targets.push(control.outerHTML.slice(0, 80)); }
  });
  var seen = {};
  document.querySelectorAll('[id]').forEach(function (node) { if (seen['#' + node.id]) { found.twice.push('#' + node.id); } seen['#' + node.id] = true; });
  document.querySelectorAll('section, nav, aside, [role=region], [role=group]').forEach(function (place) {
    var name = place.tagName + ' ' + named(place);
    if (!visible(place)) { return; }
    if (seen[name]) { found.twice.push(name); }
    seen[name] = true;
  });
  function channels(colour) { return (colour.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number); }
  function luminance(c) {
    var linear = c.slice(0, 3).map(function (v) { v /= 255; return v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); });
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  }
  function paper(node) {
    for (; node; node = node.parentElement) {
      var c = channels(getComputedStyle(node).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) { return c; }
    }
    return [255, 255, 255];
  }
  var walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    var holder = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || !visible(holder) || holder.closest('svg, script, style, :disabled')) { continue; }
    var a = luminance(channels(getComputedStyle(holder).color)), b = luminance(paper(holder));
    var contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (contrast < 4.5) { found.faint.push(contrast.toFixed(2) + ': ' + walker.currentNode.textContent.trim().slice(0, 40)); }
  }
}
