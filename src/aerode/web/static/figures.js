// Each figure as a PNG: its own SVG file, drawn to a canvas. Nothing leaves the computer.
const SCALE = 2; // sharp on paper

async function png(link) {
  const text = await (await fetch(link.href)).text();
  const box = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(text);
  if (!box) return;
  const [width, height] = [Number(box[1]), Number(box[2])];
  const sized = text.replace("<svg ", `<svg width="${width * SCALE}" height="${height * SCALE}" `);
  const picture = new Image();
  picture.src = URL.createObjectURL(new Blob([sized], { type: "image/svg+xml" }));
  await picture.decode();
  const canvas = document.createElement("canvas");
  canvas.width = width * SCALE;
  canvas.height = height * SCALE;
  const brush = canvas.getContext("2d");
  brush.fillStyle = getComputedStyle(document.body).backgroundColor;
  brush.fillRect(0, 0, canvas.width, canvas.height);
  brush.drawImage(picture, 0, 0);
  URL.revokeObjectURL(picture.src);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  const save = document.createElement("a");
  save.href = URL.createObjectURL(blob);
  save.download = `${new URL(link.href).pathname.split("/").pop().replace(/\.svg$/, "")}.png`;
  save.click();
  setTimeout(() => URL.revokeObjectURL(save.href), 1000);
}

function offer() {
  for (const link of document.querySelectorAll('.files a[href*=".svg"]')) {
    if (link.parentElement.querySelector("[data-png]")) continue;
    const button = document.createElement("a");
    button.href = link.href;
    button.textContent = "PNG";
    button.dataset.png = "";
    button.addEventListener("click", (event) => { event.preventDefault(); png(link); });
    link.after(" ", button);
  }
}

offer();
document.addEventListener("aerode:drawn", offer);
