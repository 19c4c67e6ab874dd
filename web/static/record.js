/* Built from web/island/record.ts; with Preact (MIT, web/island/vendor). */
