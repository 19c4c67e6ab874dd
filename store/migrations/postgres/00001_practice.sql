-- +goose Up
create table docs (
  kind text not null,
  id text collate "C" not null,
  owner text collate "C" not null,
  name text collate "C" not null,
  version integer not null,
  body text not null,
  changed text not null,
  primary key (kind, id)
);
create index docs_owner on docs (owner);

create table operations (
  id text primary key,
  author text not null,
  made text not null,
  kind text not null,
  doc text not null,
  base integer not null,
  version integer not null,
  what text not null,
  edits text not null,
  asked text not null,
  undoes text not null,
  unique (kind, doc, version)
);
create index operations_undoes on operations (undoes);

create table frozen (
  code text primary key,
  block text not null,
  owner text not null,
  revision integer not null,
  made text not null,
  author text not null,
  data bytea not null
);
create index frozen_block on frozen (block);

create table notes (
  seq bigserial primary key,
  made text not null,
  author text not null,
  what text not null,
  kind text not null,
  doc text not null,
  owner text not null
);

create table accounts (
  id text primary key,
  email text not null unique,
  name text not null,
  role text not null,
  language text not null,
  secret text not null
);

create table access (
  account text not null,
  owner text collate "C" not null,
  primary key (account, owner)
);

create table logins (
  hash text primary key,
  account text not null,
  device text not null,
  made text not null,
  seen text not null
);
create index logins_account on logins (account);

create table links (
  hash text primary key,
  purpose text not null,
  expires text not null
);

-- +goose Down
drop table links;
drop table logins;
drop table access;
drop table accounts;
drop table notes;
drop table frozen;
drop table operations;
drop table docs;
