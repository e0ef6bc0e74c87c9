// Judge statements, a JSON line each; print what is wrong with each, likewise.
const validate = require("@learninglocker/xapi-validation").default;
const lines = require("node:fs").readFileSync(0, "utf8").trim().split("\n");
for (const line of lines) console.log(JSON.stringify(validate(JSON.parse(line))));
