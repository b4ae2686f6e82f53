// The rules for the scripts of the pages; .ci/scripts/check runs them.
import js from "@eslint/js";

const asHtml = ["innerHTML", "outerHTML", "insertAdjacentHTML", "write"];

export default [
  {
    languageOptions: { ecmaVersion: 2022, sourceType: "script" },
    linterOptions: { noInlineConfig: true }, // exceptions stand here, each with its reason
    rules: {
      ...js.configs.recommended.rules,
      // tsc knows the names of the browser and of the page's other scripts
      "no-undef": "off",
      // names of a whole page serve its other scripts; a maker is handed what it may not need
      "no-unused-vars": ["error", { vars: "local", argsIgnorePattern: "^_" }],
      eqeqeq: "error",
      "no-var": "error",
      "prefer-const": "error",
      strict: ["error", "global"],
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-new-func": "error",
      "no-restricted-properties": ["error", ...asHtml.map(property =>
        ({ property, message: "Every text goes in as text." }))],
      "max-len": ["error", { code: 100 }],
    },
  },
  {
    files: ["**/live/assets/words.js"], // what stands here for the page is set by its other scripts
    rules: { "prefer-const": "off" },
  },
];
