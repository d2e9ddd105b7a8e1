// Does what the helpers must notice: takes a dropped file and pasted text, saves a picture, and
// asks another origin when told to.

const byId = (id) => document.getElementById(id);
const say = (text) => (byId("said").textContent = text);

const place = byId("place");
place.addEventListener("dragover", (event) => event.preventDefault());
place.addEventListener("drop", async (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer.files;
    say(`${file.name}: ${await file.text()}`);
});
place.addEventListener("paste", (event) => say(event.clipboardData.getData("text/plain")));

byId("picture").addEventListener("click", () => {
    const canvas = document.createElement("canvas");
    canvas.width = 30;
    canvas.height = 20;
    canvas.toBlob((blob) => {
        const link = document.createElement("a");
        link.href = URL.createObjectURL(blob);
        link.download = "picture.png";
        link.click();
    });
});

byId("ask").addEventListener("click", () => {
    const image = new Image();
    image.addEventListener("error", () => say("refused"));
    image.src = byId("ask").dataset.address;
});
