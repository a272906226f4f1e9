/** The parts that no figure and no cut waits for: they come in a second file, once the first is on the screen. */
import "../record/stored-run.ts";
import "../help/field-help.ts";
import "../help/glossary-card.ts";
import "../help/page-tour.ts";
import "../setup/first-setup.ts";
import "./cold-view.ts";
import "./compare-view.ts";
import "./intake-view.ts";
import "./next-question.ts";
import "./note-form.ts";
import "./phone-card.ts";
import "./probe-view.ts";
import "./record-view.ts";
import "./run-trace.ts";
import "./tone-settings.ts";
import "./shop-view.ts";
import "./work-view.ts";
