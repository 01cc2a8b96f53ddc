// A share file dropped on any page is kept and opened. Other files are left to what lies below.
{
  const ENDING = ".share.toml";
  const LARGEST = 4e6;
  const isFile = (event) => [...(event.dataTransfer?.types || [])].includes("Files");
  const say = (text) => {
    let place = document.getElementById("fp-dropped");
    if (!place) {
      place = document.createElement("div");
      place.id = "fp-dropped";
      place.setAttribute("role", "alert");
      place.className = "fp-warnbox";
      document.getElementById("fp-content")?.prepend(place);
    }
    place.textContent = text;
  };
  addEventListener("dragover", (event) => isFile(event) && event.preventDefault());
  addEventListener("drop", async (event) => {
    if (!isFile(event)) return;
    event.preventDefault(); // else the browser leaves the page for the file
    const file = event.dataTransfer.files[0];
    if (!file?.name.endsWith(ENDING)) {
      say(`${file?.name || "That"} is no share file: its name ends in ${ENDING}. Other files go by their buttons.`);
      return;
    }
    if (file.size > LARGEST) {
      say(`${file.name} is larger than ${LARGEST / 1e6} MB, which no share file is.`);
      return;
    }
    const body = JSON.stringify({ text: await file.text(), name: file.name.slice(0, 200) });
    try {
      const answer = await fetch("/api/share", { method: "POST", headers: { "content-type": "application/json" }, body });
      const told = await answer.json();
      if (answer.ok) location.href = told.address;
      else say(told.message);
    } catch {
      say("The app does not answer, so the file was not read. Start it again and drop the file once more.");
    }
  });
}
