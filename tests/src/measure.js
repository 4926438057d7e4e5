addEventListener('load', function () {
  // After what the page itself does when it is there.
  setTimeout(function () {
    var found = {
      width: innerWidth, content_width: document.documentElement.scrollWidth, wrong: window.wrong,
      pictures: 0, texts: 0, overlaps: [], outside: [], smallest_text: 1000, readout: '', cursors: 0
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
    var figure = document.querySelector('figure.curves');
    if (figure) {
      figure.focus();
      figure.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', bubbles: true, cancelable: true }));
      var readout = figure.querySelector('.readout');
      found.readout = readout ? readout.textContent : '';
      shown.forEach(function (svg) { found.cursors += svg.querySelectorAll('.cursor').length; });
    }
    var text = JSON.stringify(found).replace(/[&<>]/g, function (c) { return '\\u00' + c.charCodeAt(0).toString(16); });
    parent.postMessage(text, '*');
  }, 0);
});
