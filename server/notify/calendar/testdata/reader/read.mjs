// Reads a calendar from standard input and writes its events as JSON.
import ICAL from "ical.js";

let text = "";
for await (const chunk of process.stdin) text += chunk;
const calendar = new ICAL.Component(ICAL.parse(text));
const events = calendar.getAllSubcomponents("vevent").map((c) => {
  const e = new ICAL.Event(c);
  return {
    uid: e.uid,
    summary: e.summary,
    description: e.description,
    start: e.startDate.toString(),
    end: e.endDate.toString(),
    allDay: e.startDate.isDate,
    sequence: e.sequence,
    status: c.getFirstPropertyValue("status"),
    stamp: c.getFirstPropertyValue("dtstamp").toString(),
  };
});
process.stdout.write(JSON.stringify(events));
