#!/bin/sh
# What the test printer does with each job: keeps the document and what came with it, says what its task is to say, and ends as it is
# told. KEEP is a folder; in it `says` holds the lines to say, `ends` the exit code.
set -u
number=$(ls "$KEEP" | grep -c '^document-')
cp "$1" "$KEEP/document-$number"
env | grep -E '^(IPP_|CONTENT_TYPE)' | sort >"$KEEP/asked-$number"
if [ -f "$KEEP/says" ]; then
    while IFS= read -r line; do
        echo "$line" >&2
        sleep 0.6
    done <"$KEEP/says"
fi
[ -f "$KEEP/ends" ] && exit "$(cat "$KEEP/ends")"
exit 0
