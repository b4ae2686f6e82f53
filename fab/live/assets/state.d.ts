/* What the server of live/ hands to the page; tests/live/test_shapes.py holds it against answers. */

/** What is known of a state: its picture, figures and checks (screen.py). */
interface Looked {
  wall: string; // SVG
  legend: LegendEntry[];
  changed: string;
  job: string;
  title: string;
  wired: boolean;
  unbuildable: boolean;
  rows: Figure[];
  checks: Checks;
}

/** /state.json: the newest good state, if there is one, and the faults (screen.py). */
interface State extends Partial<Looked> {
  save: number;
  busy: boolean;
  notice: string;
  faults: Fault[];
  views: Record<string, View | undefined>;
}

/** The answer to a trial (trial.py). */
interface Trial extends Partial<Looked> {
  faults: Fault[];
  toml: string;
  seconds: number;
}

/** The answer to a trial where another page asked meanwhile. */
interface Late {
  late: boolean;
}

/** One view; its pictures come with /pictures.json. */
interface View {
  key: string;
  stale: boolean;
  changed: boolean;
  pictures: Picture[];
}

/** A drawing or a photo (pieces.py). */
interface Picture {
  name: string;
  title: string;
  changed?: boolean;
  svg?: string;
  wide?: number; // mm
  png?: string; // in base64
  says?: string;
  width?: number;
  height?: number;
  legend?: LegendEntry[];
}

/** A mark and its word (pictures.py). */
interface LegendEntry {
  svg: string;
  word: string;
}

/** A fault of a file (faults.py). */
interface Fault {
  file: string;
  line: number;
  text: string;
  key: string;
  says: string;
  works: string;
}

/** A figure with what it was before (words.py). */
interface Figure {
  name: string;
  text: string;
  before: string;
  stale: boolean;
}

/** The checks: in full, in a line each, and counted (words.py). */
interface Checks {
  known: boolean;
  shown: Check[];
  tight: Line[];
  quiet: Line[];
  others: number;
  counted: Record<string, number>;
}

/** A check in full. */
interface Check {
  id: string;
  subject: string;
  verdict: string;
  measured: string;
  limit: string;
  says: string;
  remedy: string;
  source: string;
  turned: boolean;
  before: string;
}

/** A line of a list, under its name. */
interface Line {
  name: string;
  text: string;
}

/** /ranges.json: the sliders of a save (ranges.py). */
interface Ranges {
  save: number;
  sliders: Slider[];
  seconds: number;
}

/** A number to try; "stops" are checks that fail below and above (sliders.py). */
interface Slider {
  key: string;
  name: string;
  unit: string;
  about: string;
  step: number;
  least: number;
  most: number;
  value: number;
  plan: boolean;
  stops: string[];
  working: boolean;
}

/** A line of /events (server.py). */
interface News {
  revision: number;
  working: string;
}
