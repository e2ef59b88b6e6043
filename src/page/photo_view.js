// A photo with outlines on it: points at teeth, draws a box, drags a rim; by pointer or by keys.
// Coordinates it takes and gives are pixels of the photo.
class PhotoView {
  // picture: {bitmap, scale} with scale = shown pixels a photo pixel; shapes: [{points, kind, name}];
  // memory: what has to outlive this view: {cursor, handle}.
  constructor({ picture, shapes, tool, memory, label, onPoint, onBox, onRim }) {
    Object.assign(this, { picture, shapes, tool, memory, label, onPoint, onBox, onRim, held: null, box: null });
    const { bitmap } = picture;
    memory.cursor ||= [bitmap.width / 2 / picture.scale, bitmap.height / 2 / picture.scale];
    this.canvas = h("canvas", {
      width: bitmap.width, height: bitmap.height, tabindex: 0, role: "application", "aria-label": label + " " + t("photoHelp"),
      onpointerdown: (e) => this.down(e), onpointermove: (e) => this.move(e), onpointerup: (e) => this.up(this.at(e)),
      onpointercancel: () => { this.held = this.box = null; this.draw(); },
      onkeydown: (e) => this.key(e), onfocus: () => this.draw(), onblur: () => this.draw(),
    });
    this.element = h("div", { class: "picture" }, this.canvas);
    this.draw();
  }

  at(event) {
    const area = this.canvas.getBoundingClientRect();
    const toPhoto = this.canvas.width / area.width / this.picture.scale;
    return [(event.clientX - area.left) * toPhoto, (event.clientY - area.top) * toPhoto];
  }

  get rim() { return this.shapes.find((s) => s.kind === "chosen"); }
  get boxes() { return this.tool === "box" || this.tool === "tab" || this.tool === "floor"; }

  down(event) {
    this.canvas.setPointerCapture(event.pointerId);
    const at = this.at(event);
    this.keyed = false;
    if (this.boxes) this.box = [...at, ...at];
    else if (this.tool === "rim" && this.rim) {
      const far = this.rim.points.map(([x, y]) => Math.hypot(x - at[0], y - at[1]));
      const near = far.indexOf(Math.min(...far));
      if (far[near] * this.picture.scale < this.canvas.width / 25) this.held = near;
      this.memory.handle = near;
    }
  }

  move(event) {
    if (this.box) this.box.splice(2, 2, ...this.at(event));
    else if (this.held !== null) this.drag(this.held, this.at(event));
    else return;
    this.draw();
  }

  // Moves a point of the rim and, less, its neighbours.
  drag(index, [x, y]) {
    const { points } = this.rim;
    const [dx, dy] = [x - points[index][0], y - points[index][1]];
    const reach = Math.max(1, Math.round(points.length / 16));
    for (let i = -reach; i <= reach; ++i) {
      const share = 0.5 + 0.5 * Math.cos(Math.PI * i / (reach + 1));
      const point = points[(index + i + points.length) % points.length];
      point[0] += share * dx;
      point[1] += share * dy;
    }
  }

  up(at) {
    if (this.box) {
      const [x0, y0] = this.box;
      this.box = null;
      let box = [Math.min(x0, at[0]), Math.min(y0, at[1]), Math.abs(at[0] - x0), Math.abs(at[1] - y0)].map(Math.round);
      // A click on a floor stands for a small box about it.
      const side = Math.round(this.canvas.width / this.picture.scale / 40);
      if (this.tool === "floor" && (box[2] < 4 || box[3] < 4)) box = [Math.round(at[0] - side / 2), Math.round(at[1] - side / 2), side, side];
      if (box[2] >= 4 && box[3] >= 4) this.onBox(box);
    } else if (this.held !== null) {
      this.held = null;
      this.onRim(this.rim.points);
    } else if (this.tool === "point") {
      this.onPoint(at);
    }
    this.draw();
  }

  key(event) {
    const step = (event.shiftKey ? 40 : 8) / this.picture.scale;
    const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (this.tool === "rim" && this.rim) {
      const { points } = this.rim;
      const now = this.memory.handle ||= 0;
      if (way) {
        this.drag(now, [points[now][0] + way[0] / 4, points[now][1] + way[1] / 4]);
        this.onRim(points);
      } else if (event.key === "." || event.key === ",") {
        this.memory.handle = (now + (event.key === "." ? 1 : points.length - 1)) % points.length;
      } else return;
      this.canvas.setAttribute("aria-label", t("rimHelp", { n: this.memory.handle + 1, count: points.length }));
    } else if (way) {
      const { cursor } = this.memory;
      cursor[0] = Math.max(0, Math.min(this.canvas.width / this.picture.scale - 1, cursor[0] + way[0]));
      cursor[1] = Math.max(0, Math.min(this.canvas.height / this.picture.scale - 1, cursor[1] + way[1]));
      if (this.box) this.box.splice(2, 2, ...cursor);
    } else if (event.key === "Enter" || event.key === " ") {
      if (this.boxes && !this.box && this.tool !== "floor") this.box = [...this.memory.cursor, ...this.memory.cursor];
      else {
        if (this.tool === "floor") this.box = [...this.memory.cursor, ...this.memory.cursor];
        this.up(this.memory.cursor);
      }
    } else if (event.key === "Escape") this.box = null;
    else return;
    event.preventDefault();
    this.draw();
  }

  draw() {
    const pen = this.canvas.getContext("2d");
    const { scale } = this.picture;
    pen.drawImage(this.picture.bitmap, 0, 0);
    const wide = Math.max(1.5, this.canvas.width / 600);
    const stroke = (path, colour) => {
      pen.lineWidth = wide + 2;
      pen.strokeStyle = "#000a";
      pen.stroke(path);
      pen.lineWidth = wide;
      pen.strokeStyle = colour;
      pen.stroke(path);
    };
    for (const { points, kind, name } of this.shapes) {
      const path = new Path2D();
      points.forEach(([x, y], i) => (i ? path.lineTo(x * scale, y * scale) : path.moveTo(x * scale, y * scale)));
      path.closePath();
      pen.setLineDash(kind === "found" ? [wide * 4, wide * 4] : []);
      stroke(path, { chosen: "#ffd54f", tooth: "#fff", found: "#fff", zone: "#9fe8dd", card: "#9fe8dd", box: "#ffd54f" }[kind]);
      pen.setLineDash([]);
      if (name) this.write(pen, name, points, wide);
      if (kind === "chosen" && this.tool === "rim") {
        points.forEach(([x, y], i) => {
          pen.beginPath();
          pen.arc(x * scale, y * scale, i === this.memory.handle ? wide * 3.5 : wide * 1.6, 0, 7);
          pen.fillStyle = i === this.memory.handle ? "#ffd54f" : "#fff";
          pen.fill();
        });
      }
    }
    if (this.box) {
      const [x0, y0, x1, y1] = this.box.map((v) => v * scale);
      const path = new Path2D();
      path.rect(x0, y0, x1 - x0, y1 - y0);
      stroke(path, "#ffd54f");
    }
    if (document.activeElement === this.canvas && this.canvas.matches(":focus-visible") && this.tool !== "rim") {
      const [x, y] = this.memory.cursor.map((v) => v * scale);
      const arm = this.canvas.width / 40;
      const path = new Path2D();
      path.moveTo(x - arm, y); path.lineTo(x + arm, y); path.moveTo(x, y - arm); path.lineTo(x, y + arm);
      stroke(path, "#ffd54f");
    }
  }

  write(pen, name, points, wide) {
    const { scale } = this.picture;
    pen.font = `600 ${wide * 10}px system-ui, sans-serif`;
    pen.textAlign = "center";
    const [x, y] = points.reduce(([a, b], [c, d]) => [a + c / points.length, b + d / points.length], [0, 0]);
    pen.lineWidth = wide * 2;
    pen.strokeStyle = "#000c";
    pen.strokeText(name, x * scale, y * scale);
    pen.fillStyle = "#fff";
    pen.fillText(name, x * scale, y * scale);
  }
}
