"""Paper: a document as plain blocks, and the one engine that sets it as PDF; import `document` to build, `engine` to print."""
