
// --- scan: a photograph is read as soon as it is taken; the camera live where the browser allows it ----------------------------
(() => {
  const form = document.querySelector("form.scan-photo");
  if (!form) return;
  form.classList.add("scripted");
  const shown = document.querySelector("#scanned"), works = form.querySelector(".scan-works");
  const thumbs = form.querySelector(".scan-thumbs");
  const address = `${form.action}${form.action.includes("?") ? "&" : "?"}part=1`;
  // Longest side of what is sent first. What is larger is sent as it is only where nothing was read in the small one.
  const SMALL = 2400;

  const scaled = async (source, width, height, longest, quality) => {
    const share = Math.min(1, longest / Math.max(width, height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(width * share);
    canvas.height = Math.round(height * share);
    canvas.getContext("2d").drawImage(source, 0, 0, canvas.width, canvas.height);
    return new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
  };
  const small = async (file) => {
    if (!file.type.startsWith("image/")) return file;
    try {
      const picture = await createImageBitmap(file);
      const isRead = /^image\/(jpeg|png)$/.test(file.type);
      if (isRead && Math.max(picture.width, picture.height) <= SMALL && file.size < 1500000) return file;
      const blob = await scaled(picture, picture.width, picture.height, SMALL, 0.85);
      picture.close();
      return blob && new File([blob], file.name.replace(/\.\w+$/, "") + ".jpg", { type: "image/jpeg" }) || file;
    } catch { return file; }
  };
  const read = async (files) => {
    const sent = new FormData();
    for (const file of files) sent.append("photo", file, file.name);
    const answer = await fetch(address, { method: "POST", body: sent });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return page.querySelector(".scanned") || page.querySelector("main");
  };
  const count = (part) => Number(part.dataset.tags || 0);
  const show = (part) => {
    shown.replaceChildren(document.adoptNode(part));
    if (part.dataset.go) { location.assign(part.dataset.go); return; }
    shown.scrollIntoView({ block: "start" });
  };
  const say = (what) => { works.textContent = what; works.hidden = !what; };

  const taken = async (input) => {
    const files = [...input.files];
    if (!files.length) return;
    thumbs.replaceChildren(...files.filter((file) => file.type.startsWith("image/")).map((file) => {
      const thumb = new Image();
      thumb.alt = file.name;
      thumb.src = URL.createObjectURL(file);
      thumb.onload = () => URL.revokeObjectURL(thumb.src);
      return thumb;
    }));
    say("reading …");
    try {
      const first = await Promise.all(files.map(small));
      let part = await read(first);
      if (!count(part) && first.some((file, at) => file !== files[at])) {
        say("looking closer …");
        const whole = await read(files);
        // What the browser alone can open is known by its small picture only.
        if (count(whole) || !whole.querySelector(".alarm")) part = whole;
      }
      show(part);
    } catch { say("the server cannot be reached: is it running, and the phone in its network?"); input.value = ""; return; }
    say("");
    input.value = "";
  };
  for (const input of form.querySelectorAll("input[type=file]")) input.addEventListener("change", () => taken(input));

  const live = document.querySelector(".scan-live");
  const video = live.querySelector("video"), button = live.querySelector("button");
  live.hidden = false;
  if (!navigator.mediaDevices || !navigator.mediaDevices.getUserMedia) {
    button.hidden = true;
    live.querySelector(".scan-why").hidden = false;
    return;
  }
  let stream = null;
  const stop = () => {
    if (stream) stream.getTracks().forEach((track) => track.stop());
    stream = null;
    video.hidden = true;
    video.srcObject = null;
    button.textContent = "Start the camera";
  };
  // One picture at a time: the next is taken when the last was answered.
  const look = async () => {
    while (stream) {
      const begun = performance.now();
      if (video.videoWidth) {
        const blob = await scaled(video, video.videoWidth, video.videoHeight, 1280, 0.8);
        const part = blob && await read([new File([blob], "", { type: "image/jpeg" })]).catch(() => null);
        if (!stream) return;
        if (part && count(part)) {
          if (navigator.vibrate) navigator.vibrate(80);
          stop();
          show(part);
          return;
        }
      }
      await new Promise((done) => setTimeout(done, Math.max(60, 200 - (performance.now() - begun))));
    }
  };
  button.addEventListener("click", async () => {
    if (stream) { stop(); return; }
    live.querySelector(".scan-refused").hidden = true;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1920 } } });
    } catch { live.querySelector(".scan-refused").hidden = false; return; }
    button.textContent = "Stop the camera";
    video.hidden = false;
    video.srcObject = stream;
    await video.play();
    look();
  });
  addEventListener("pagehide", stop);
  document.addEventListener("visibilitychange", () => { if (document.hidden) stop(); });
})();
