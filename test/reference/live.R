# What R makes of the inputs of test/stats/live-r.test.ts: Rscript live.R METHOD < inputs > answers
# A line of numbers per case in, a line of numbers per case out, 17 digits, NA where there is no answer.
# A method whose package is not installed prints "absent PACKAGE" and ends with 3. General packages only.

args <- commandArgs()
here <- dirname(sub("^--file=", "", grep("^--file=", args, value = TRUE)))
source(file.path(here, "methods.R"))
method <- commandArgs(trailingOnly = TRUE)[1]

answer <- function(x) tryCatch(get(method, globalenv())(x), error = function(e) {
  message(method, ": ", conditionMessage(e))
  NA
})
input <- file("stdin")
lines <- readLines(input)
close(input)
for (line in lines) {
  x <- as.numeric(strsplit(line, " ", fixed = TRUE)[[1]])
  cat(sprintf("%.17g", as.numeric(answer(x))), "\n")
}
