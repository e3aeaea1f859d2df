"""What all documents share: kinds of value, where they were written, schemas, and the strict way in and out."""
