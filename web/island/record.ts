// The keys of recording.
export {};
