// Curves of temperature and power. Each span of time comes with its lowest and highest value and is
// drawn as one upright stroke between them, joined to the next: no peak hides (min-max decimation).

const AT_MOST = { temperature: 8, power: 6 };

export class Course {
  constructor(canvas) {
    this.canvas = canvas;
    this.width_s = 1;
    this.spans = new Map();
    this.names = [];
    this.limit = null;
    this.band = [];
    this.at_s = 0;
    this.wanted = false;
    new ResizeObserver(() => this.draw()).observe(canvas);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
  }

  take(news) {
    if (news.whole) this.spans.clear();
    this.width_s = news.width_s;
    this.names = news.names;
    news.at.forEach((place, n) => this.spans.set(place, { low: news.low[n], high: news.high[n] }));
    this.draw();
  }

  tell(state) {
    this.limit = state.limit_c;
    this.band = state.band;
    this.at_s = state.at_s;
    this.draw();
  }

  draw() {
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame(() => { this.wanted = false; this.paint(); });
  }

  paint() {
    const { canvas } = this, scale = devicePixelRatio || 1;
    const wide = canvas.clientWidth, high = canvas.clientHeight;
    if (!wide || !high) return;
    canvas.width = Math.round(wide * scale);
    canvas.height = Math.round(high * scale);
    const pen = canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    const style = getComputedStyle(canvas);
    this.ink = (name) => style.getPropertyValue(`--${name}`).trim();
    pen.font = `14px ${style.fontFamily}`;
    const places = [...this.spans.keys()].sort((a, b) => a - b);
    const from = places.length ? places[0] * this.width_s : 0;
    const ahead = this.band.length ? this.band[this.band.length - 1][0] : 0;
    const last = places.length ? (places[places.length - 1] + 1) * this.width_s : 0;
    const to = Math.max(last, this.at_s, ahead, from + 10);
    const left = 52, right = wide - 8, middle = high * 0.58;
    const x = (second) => left + ((second - from) / (to - from)) * (right - left);
    this.panel(pen, { places, x, top: 8, bottom: middle - 26, left, right, unit: "°C",
      curves: [["hotspot_temp_c", "hot-spot", 1.5, [5, 4]], ["gpu_temp_c", "temperature", 3, []]],
      line: this.limit, band: this.band, ticks: AT_MOST.temperature });
    this.panel(pen, { places, x, top: middle, bottom: high - 24, left, right, unit: "W",
      curves: [["load_w", "target", 3, [2, 4]], ["power_w", "power", 2.5, []]],
      line: null, band: [], ticks: AT_MOST.power });
    this.clock(pen, from, to, x, high - 6);
  }

  panel(pen, p) {
    const values = [];
    for (const [name] of p.curves) {
      const n = this.names.indexOf(name);
      for (const place of p.places) {
        const span = this.spans.get(place);
        if (n >= 0 && span.low[n] !== null) values.push(span.low[n], span.high[n]);
      }
    }
    if (p.line !== null) values.push(p.line);
    for (const [, low, high] of p.band) values.push(low, high);
    let least = p.unit === "W" ? 0 : Math.min(...values, 20), most = Math.max(...values, least + 10);
    const step = nice((most - least) / p.ticks);
    least = Math.floor(least / step) * step;
    most = Math.ceil((most + step * 0.2) / step) * step;
    const y = (value) => p.bottom - ((value - least) / (most - least)) * (p.bottom - p.top);
    pen.lineWidth = 1;
    pen.setLineDash([]);
    pen.textAlign = "right";
    pen.textBaseline = "middle";
    for (let tick = least; tick <= most + step / 2; tick += step) {
      pen.strokeStyle = this.ink("line");
      stroke(pen, [[p.left, y(tick)], [p.right, y(tick)]]);
      pen.fillStyle = this.ink("soft");
      const text = String(Math.round(tick));
      pen.fillText(tick + step > most + step / 2 ? `${text} ${p.unit}` : text, p.left - 6, y(tick));
    }
    if (p.band.length) {
      pen.fillStyle = this.ink("band");
      pen.beginPath();
      p.band.forEach(([at, , high], n) => pen[n ? "lineTo" : "moveTo"](p.x(at), y(high)));
      [...p.band].reverse().forEach(([at, low]) => pen.lineTo(p.x(at), y(low)));
      pen.closePath();
      pen.fill();
    }
    for (const curve of p.curves) this.curve(pen, p, y, curve);
    if (p.line !== null) {
      pen.strokeStyle = this.ink("limit");
      pen.lineWidth = 2.5;
      pen.setLineDash([10, 6]);
      stroke(pen, [[p.left, y(p.line)], [p.right, y(p.line)]]);
    }
  }

  curve(pen, p, y, [name, ink, width, dash]) {
    const n = this.names.indexOf(name);
    if (n < 0) return;
    pen.strokeStyle = this.ink(ink);
    pen.lineWidth = width;
    pen.lineJoin = "round";
    pen.setLineDash(dash);
    pen.beginPath();
    let before = null;
    for (const place of p.places) {
      const { low, high } = this.spans.get(place);
      if (low[n] === null) { before = null; continue; }
      const at = p.x((place + 0.5) * this.width_s);
      // Up or down first, whichever end lies nearer to where the stroke before it ended.
      const ends = before !== null && Math.abs(before - high[n]) < Math.abs(before - low[n])
        ? [high[n], low[n]] : [low[n], high[n]];
      pen[before === null ? "moveTo" : "lineTo"](at, y(ends[0]));
      pen.lineTo(at, y(ends[1]) + (ends[0] === ends[1] ? 0.01 : 0));
      before = ends[1];
    }
    pen.stroke();
  }

  clock(pen, from, to, x, at) {
    pen.fillStyle = this.ink("soft");
    pen.textBaseline = "alphabetic";
    const step = [5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 21600, 86400]
      .find((seconds) => (to - from) / seconds <= 8) || 604800;
    for (let tick = Math.ceil(from / step) * step; tick <= to; tick += step) {
      const place = x(tick);
      pen.textAlign = place < 80 ? "left" : place > x(to) - 30 ? "right" : "center";
      pen.fillText(told(tick), place, at);
    }
  }
}

function told(seconds) {
  const two = (n) => String(Math.floor(n)).padStart(2, "0");
  const hours = Math.floor(seconds / 3600), minutes = (seconds % 3600) / 60;
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}`
    : `${Math.floor(minutes)}:${two(seconds % 60)}`;
}

function nice(step) {
  const power = 10 ** Math.floor(Math.log10(Math.max(step, 1)));
  return [1, 2, 5, 10].find((n) => n * power >= step) * power;
}

function stroke(pen, points) {
  pen.beginPath();
  points.forEach(([x, y], n) => pen[n ? "lineTo" : "moveTo"](x, y));
  pen.stroke();
}
